from django.db import migrations

# By the points as they stand: what was changed before it was signed is in the audit trail alone.
_DRAWS = """
    INSERT INTO clinic_stockmovement (unit_id, kind, amount, reason, witness, at, by_id)
    SELECT unit_id, 'drawn', amount, 'Point ' || number, '', logged_at, logged_by_id
    FROM records_injectionentry WHERE removed_at IS NULL ORDER BY id
"""
_NO_DRAWS = "DELETE FROM clinic_stockmovement WHERE kind IN ('drawn', 'undrawn')"


class Migration(migrations.Migration):
    dependencies = [
        ("clinic", "0004_quarantines_of_before"),
        ("records", "0006_recalls"),
    ]

    operations = [migrations.RunSQL(_DRAWS, _NO_DRAWS)]
