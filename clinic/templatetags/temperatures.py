"""Template filter for temperatures, built in to every template."""

from django import template

from planning.temperatures import format_temperature

register = template.Library()


@register.filter
def celsius(tenths: int) -> str:
    """Tenths of a degree as "5.4 °C"."""
    return format_temperature(tenths, no_break=True)
