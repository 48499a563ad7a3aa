"""Template filter for amounts, built in to every template."""

from django import template

from planning.amounts import format_amount
from planning.vocabulary import Measure

register = template.Library()


@register.filter
def amount(value: int, measure: str) -> str:
    """An integer amount with its unit: `{{ point.amount|amount:point.measure }}`."""
    return format_amount(value, Measure(measure), no_break=True)
