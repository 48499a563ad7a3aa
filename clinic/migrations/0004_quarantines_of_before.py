from django.db import migrations


def give_each_its_row(apps, schema_editor):
    """A lot in quarantine gets the act of placing it, by whom the audit trail names."""
    Lot = apps.get_model("clinic", "Lot")
    Quarantine = apps.get_model("clinic", "Quarantine")
    AuditEvent = apps.get_model("clinic", "AuditEvent")
    User = apps.get_model("clinic", "User")
    for lot in Lot.objects.filter(quarantined_at__isnull=False).order_by("id"):
        placed = AuditEvent.objects.filter(
            action="lot.quarantined", subject_type="lot", subject_id=str(lot.pk)
        )
        event = placed.exclude(actor=None).order_by("-id").first()
        by = event.actor_id if event else User.objects.filter(is_owner=True).first().pk
        Quarantine.objects.create(
            product_id=lot.product_id, lot_first=lot.number, lot_last=lot.number,
            reason=lot.quarantine_reason, placed_at=lot.quarantined_at, placed_by_id=by,
        )  # fmt: skip


def take_away(apps, schema_editor):
    apps.get_model("clinic", "Quarantine").objects.all().delete()


class Migration(migrations.Migration):
    dependencies = [("clinic", "0003_places_and_quarantine")]

    operations = [migrations.RunPython(give_each_its_row, take_away)]
