"""Reads of the products."""

from clinic.products.models import Product


def has_units(product: Product) -> bool:
    """Whether a unit of it was ever received: its amounts then mean what they meant that day."""
    return product.lots.filter(units__isnull=False).exists()
