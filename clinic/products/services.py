"""Writes to products. Each act is one transaction with its audit event."""

from clinic.audit.services import acting, changes, snapshot
from clinic.products.errors import ProductError
from clinic.products.models import Product
from clinic.products.queries import has_units
from planning.amounts import format_amount
from planning.money import plain_price

PRODUCT_FIELDS = [
    "name", "maker", "line", "kind", "content", "gtin", "lidocaine_ug_per_ml", "is_single_patient",
    "hours_after_opening", "typical_duration_months", "units_per_pack", "supplier",
    "lead_time_days", "price", "keep_lowest_tenths", "keep_highest_tenths", "is_active",
]  # fmt: skip


def save_product(*, product: Product, actor) -> Product:
    """
    Add or change a product.

    Raises:
        ProductError: kind or content changed although units were received; their amounts would
            change meaning. Another pack size is another product.
    """
    with acting(actor) as trail:
        before = {}
        if product.pk:
            stored = Product.objects.select_for_update().get(pk=product.pk)
            before = _product_in_words(stored)
            redefined = (stored.kind, stored.content) != (product.kind, product.content)
            if redefined and has_units(stored):
                raise ProductError(
                    "Units of this product were received already, so its kind and content stay. "
                    "Enter another pack size as a product of its own."
                )
        product.save()
        before, after = changes(before, _product_in_words(product))
        trail.add("product.saved", product, before=before, after=after)
    return product


def _product_in_words(product: Product) -> dict:
    """For the trail: amounts and strength as they are read, so that a row explains itself."""
    return snapshot(product, PRODUCT_FIELDS) | {
        "content": format_amount(product.content, product.measure),
        "lidocaine_ug_per_ml": product.lidocaine_text,
        "price": None if product.price is None else plain_price(product.price),
    }
