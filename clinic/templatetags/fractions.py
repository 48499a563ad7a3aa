"""Exact amounts of a vial as they are read: rounded to the base unit, and said to be."""

from fractions import Fraction

from django import template

from planning.amounts import format_amount
from planning.vocabulary import Measure

register = template.Library()


@register.filter
def about(exact: Fraction | int, measure: str) -> str:
    """ "4 units", or "about 3.33 units" for what falls between two hundredths of a unit."""
    value = Fraction(exact)
    text = format_amount(round(value), Measure(measure), no_break=True)
    return text if value.denominator == 1 else f"about {text}"
