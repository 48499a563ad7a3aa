"""Writes to the kit's list. Each act is one transaction with its audit event."""

from clinic.audit.services import acting, changes, snapshot
from clinic.emergency_kit.models import EmergencyItem

ITEM_FIELDS = [
    "name", "site", "product_kind", "product", "minimum", "expires_on", "source", "is_active",
]  # fmt: skip


def save_item(*, item: EmergencyItem, actor) -> EmergencyItem:
    """Add or change an item, or take it off the list."""
    with acting(actor) as trail:
        stored = EmergencyItem.objects.select_for_update().filter(pk=item.pk).first()
        before = snapshot(stored, ITEM_FIELDS) if stored else {}
        item.save()
        before, after = changes(before, snapshot(item, ITEM_FIELDS))
        if after:
            trail.add("emergency_item.saved", item, before=before, after=after)
    return item
