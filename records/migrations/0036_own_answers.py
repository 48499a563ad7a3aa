"""
What a patient answers alone is kept once, and what an injector typed before it as a draft. The
tables of before were in no release, so nothing is carried over.
"""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models
from django.db.models import Q


class Migration(migrations.Migration):
    dependencies = [
        ("records", "0035_occlusion_log"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RemoveConstraint(model_name="reviewrecord", name="review_record_whose_answers"),
        migrations.RemoveField(model_name="reviewrecord", name="hand_over"),
        migrations.DeleteModel(name="HandOver"),
        migrations.CreateModel(
            name="OwnAnswers",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("key", models.UUIDField(editable=False, unique=True)),
                ("grades", models.JSONField(default=dict)),
                ("satisfaction", models.PositiveSmallIntegerField(null=True)),
                ("answered_at", models.DateTimeField()),
                (
                    "review",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="own_answers",
                        to="records.review",
                    ),
                ),
                (
                    "tablet_of",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=Q(satisfaction__isnull=True) | Q(satisfaction__range=(0, 10)),
                        name="own_answers_satisfaction_in_range",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="ReviewDraft",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("typed", models.JSONField()),
                ("saved_at", models.DateTimeField()),
                (
                    "author",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "review",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="drafts",
                        to="records.review",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        fields=("review", "author"), name="review_draft_one_an_author"
                    )
                ],
            },
        ),
        migrations.AddField(
            model_name="reviewrecord",
            name="own_answers",
            field=models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="records",
                to="records.ownanswers",
            ),
        ),
        migrations.AddConstraint(
            model_name="reviewrecord",
            constraint=models.CheckConstraint(
                condition=Q(patient_answer="tablet", own_answers__isnull=False)
                | Q(patient_answer="asked", own_answers__isnull=True)
                | Q(patient_answer="none", own_answers__isnull=True, satisfaction__isnull=True),
                name="review_record_whose_answers",
            ),
        ),
    ]
