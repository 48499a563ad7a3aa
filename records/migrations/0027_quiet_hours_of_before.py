"""Quiet hours that were set for messages are the clinic's from now on, for offers too."""

from datetime import time

from django.db import migrations

UNCHANGED = (time(20), time(8))


def take_over(apps, schema_editor):
    """Those of messages, unless nobody ever set them: then the ones of offers stay."""
    messages = apps.get_model("records", "ReminderPolicy").objects
    for hours in messages.values_list("quiet_from", "quiet_until"):
        if hours != UNCHANGED:
            apps.get_model("clinic", "ClinicPolicy").objects.update(
                quiet_from=hours[0], quiet_until=hours[1]
            )


def give_back(apps, schema_editor):
    policies = apps.get_model("clinic", "ClinicPolicy").objects
    for begins, ends in policies.values_list("quiet_from", "quiet_until"):
        apps.get_model("records", "ReminderPolicy").objects.update(
            quiet_from=begins, quiet_until=ends
        )


class Migration(migrations.Migration):
    dependencies = [
        ("records", "0026_waiting_list"),
        ("clinic", "0020_one_place_of_quiet_hours"),
    ]

    operations = [migrations.RunPython(take_over, give_back)]
