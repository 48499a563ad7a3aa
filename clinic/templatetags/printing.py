"""Template filters for what is printed."""

import re

from django import template
from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

register = template.Library()


@register.filter
def unbroken(text: str) -> SafeString:
    """Keeps each number on the line of its unit, as in "27 G, 13 mm"."""
    spans = re.sub(r"([\d.,]+) ([^\s<&]+)", r'<span class="nobreak">\1 \2</span>', escape(text))
    return mark_safe(spans)  # noqa: S308 (escaped above)
