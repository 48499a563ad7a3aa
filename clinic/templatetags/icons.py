"""The icons of the sprite, a tag built in to every template: a page draws up to two hundred."""

from django import template
from django.templatetags.static import static
from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

register = template.Library()


@register.simple_tag
def icon(name: str, *, label: str = "", size: str = "") -> SafeString:
    """
    One icon, drawn in the text colour.

    Args:
        name: a symbol of static/img/icons.svg.
        label: read aloud; left out beside visible text.
        size: "lg" or nothing.
    """
    read = f'role="img" aria-label="{escape(label)}"' if label else 'aria-hidden="true"'
    return mark_safe(  # noqa: S308
        f'<svg class="icon{" icon--" + escape(size) if size else ""}" viewBox="0 0 24 24" {read} '
        f'focusable="false"><use href="{static("img/icons.svg")}#{escape(name)}"/></svg>'
    )
