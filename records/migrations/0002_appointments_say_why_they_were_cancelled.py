from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("records", "0001_initial")]

    operations = [
        migrations.AddField(
            model_name="appointment",
            name="cancel_reason",
            field=models.CharField(blank=True, default="", editable=False, max_length=200),
            preserve_default=False,
        ),
        migrations.AddConstraint(
            model_name="appointment",
            constraint=models.CheckConstraint(
                condition=models.Q(("minutes__lte", 480)), name="appointment_ends_within_a_day"
            ),
        ),
        migrations.AddConstraint(
            model_name="appointment",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("state", "cancelled"), _negated=True),
                    models.Q(("cancel_reason", ""), _negated=True),
                    _connector="OR",
                ),
                name="appointment_cancelled_with_reason",
                violation_error_message="Say why the appointment is cancelled.",
            ),
        ),
    ]
