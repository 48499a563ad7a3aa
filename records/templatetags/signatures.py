"""A kept signature on a page or a document."""

from django import template
from django.utils.safestring import SafeString

from records.signatures.drawing import signature_svg

register = template.Library()


@register.filter
def signature(text: str, title: str) -> SafeString:
    return signature_svg(text, title)
