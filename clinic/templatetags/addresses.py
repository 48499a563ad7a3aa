"""Template filter for the addresses of long lists, built in to every template."""

from django import template

register = template.Library()


@register.filter
def of(address: str, pk: int) -> str:
    """
    The address made by `{% url ... pk=0 %}` as that of another row: looked up once for a list, not
    once a row.
    """
    return address.replace("/0/", f"/{pk}/", 1)
