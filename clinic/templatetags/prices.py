"""Template filter for prices, built in to every template."""

from django import template

from planning.money import format_price

register = template.Library()


@register.filter
def price(hundredths: int, currency: str) -> str:
    """A price with its currency: `{{ quote.total|price:quote.currency }}`."""
    return format_price(hundredths, currency)
