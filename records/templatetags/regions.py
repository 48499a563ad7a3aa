"""Template filters that turn the stored words of a point into those people read."""

from django import template

from planning.atlas.regions import Region
from planning.vocabulary import Plane, Technique

register = template.Library()


@register.filter
def region_label(key: str) -> str:
    return Region(key).full_label


@register.filter
def plane_label(key: str) -> str:
    return Plane(key).label


@register.filter
def technique_label(key: str) -> str:
    return Technique(key).label
