from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("records", "0004_scale_has_its_distance"),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name="treatmentsession",
            name="session_one_open_per_patient",
        ),
        migrations.AddField(
            model_name="treatmentsession",
            name="set_aside_at",
            field=models.DateTimeField(editable=False, null=True),
        ),
        migrations.AlterField(
            model_name="operation",
            name="kind",
            field=models.CharField(
                blank=True,
                choices=[
                    ("start", "Started the session"),
                    ("edit", "Changed the note, the outline or the measures"),
                    ("open", "Put a unit on the tray"),
                    ("put_back", "Took a unit off the tray"),
                    ("waste", "Recorded waste"),
                    ("log", "Logged a point"),
                    ("change", "Changed a point"),
                    ("move", "Moved a point"),
                    ("remove", "Removed a point"),
                    ("restore", "Brought back a point"),
                    ("plan", "Marked a place"),
                    ("unplan", "Removed a marking"),
                    ("replan", "Brought back a marking"),
                    ("calibrate", "Gave a photograph its scale"),
                    ("drop_picture", "Removed a photograph"),
                    ("set_aside", "Set the session aside as started by mistake"),
                    ("sign", "Signed"),
                    ("addendum", "Wrote an addendum"),
                    ("withdraw", "Gave up an act that was not stored"),
                ],
                max_length=20,
            ),
        ),
        migrations.AddConstraint(
            model_name="treatmentsession",
            constraint=models.UniqueConstraint(
                condition=models.Q(("set_aside_at__isnull", True), ("signed_at__isnull", True)),
                fields=("patient",),
                name="session_one_open_per_patient",
                violation_error_message="This patient has an unsigned session: finish that first.",
            ),
        ),
        migrations.AddConstraint(
            model_name="treatmentsession",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("set_aside_at__isnull", True),
                    models.Q(
                        ("appointment__isnull", True), ("note", ""), ("signed_at__isnull", True)
                    ),
                    _connector="OR",
                ),
                name="session_set_aside_is_empty",
            ),
        ),
    ]
