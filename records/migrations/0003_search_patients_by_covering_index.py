import django.db.models.deletion
import django.db.models.functions.text
from django.conf import settings
from django.db import migrations, models

import clinic.database.fields


class Migration(migrations.Migration):
    dependencies = [
        ("records", "0002_appointments_say_why_they_were_cancelled"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name="patientword",
            name="patient_word_once",
        ),
        migrations.AddField(
            model_name="alert",
            name="end_reason",
            field=models.CharField(blank=True, editable=False, max_length=300),
        ),
        migrations.AddField(
            model_name="alert",
            name="ended_by",
            field=models.ForeignKey(
                editable=False,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            model_name="patientword",
            name="name_key",
            field=clinic.database.fields.FoldedField(default="", max_length=400),
            preserve_default=False,
        ),
        migrations.AlterField(
            model_name="alert",
            name="kind",
            field=models.CharField(
                choices=[
                    ("allergy", "Allergy"),
                    ("medical", "Medical"),
                    ("other", "Other"),
                    ("none_known", "No known allergies"),
                ],
                max_length=10,
            ),
        ),
        migrations.AlterField(
            model_name="patientword",
            name="patient",
            field=models.ForeignKey(
                db_index=False,
                on_delete=django.db.models.deletion.CASCADE,
                related_name="words",
                to="records.patient",
            ),
        ),
        migrations.AddIndex(
            model_name="patient",
            index=models.Index(
                django.db.models.functions.text.Lower("email"),
                condition=models.Q(("email", ""), _negated=True),
                name="patient_by_email",
            ),
        ),
        migrations.AddIndex(
            model_name="patientword",
            index=models.Index(fields=["word", "name_key", "patient"], name="patient_by_word"),
        ),
        migrations.AddConstraint(
            model_name="alert",
            constraint=models.UniqueConstraint(
                condition=models.Q(("ended_at__isnull", True), ("kind", "none_known")),
                fields=("patient",),
                name="alert_none_known_once",
            ),
        ),
        migrations.AddConstraint(
            model_name="patientword",
            constraint=models.UniqueConstraint(
                fields=("patient", "word"), name="patient_word_once"
            ),
        ),
    ]
