"""Template filters for the face atlas."""

from django import template

from clinic.atlas.queries import toxin_label

register = template.Library()


@register.filter
def toxin(key: str) -> str:
    """The generic name of a toxin as it is written."""
    return toxin_label(key)
