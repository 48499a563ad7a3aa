"""The times that appointments booked before hold from now on, cell by cell."""

from datetime import timedelta

from django.db import migrations
from django.utils import timezone

STEP = 300
HOLDING = ["booked", "arrived", "done"]


def hold(apps, schema_editor):
    """
    Those of yesterday and later; what is over books nobody twice.

    Two that stand beside each other off the five-minute marks share a cell: the first one has it.
    """
    appointments = apps.get_model("records", "Appointment").objects.filter(
        state__in=HOLDING, starts_at__gte=timezone.now() - timedelta(days=1)
    )
    cells = apps.get_model("records", "HeldCell")
    for one in appointments.order_by("starts_at", "id").iterator():
        start = int(one.starts_at.timestamp())
        end = start + one.minutes * 60
        cells.objects.bulk_create(
            (
                cells(
                    appointment_id=one.pk,
                    cell=cell,
                    practitioner_id=one.practitioner_id,
                    patient_id=one.patient_id,
                )
                for cell in range(start // STEP, -(-end // STEP))
            ),
            ignore_conflicts=True,
        )


class Migration(migrations.Migration):
    dependencies = [("records", "0020_visits_of_the_diary")]

    operations = [migrations.RunPython(hold, migrations.RunPython.noop, elidable=True)]
