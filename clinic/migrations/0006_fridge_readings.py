import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("clinic", "0005_receipts"),
    ]

    operations = [
        migrations.CreateModel(
            name="FridgeReading",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("read_at", models.DateTimeField(verbose_name="read at")),
                ("temperature", models.SmallIntegerField(verbose_name="temperature now")),
                (
                    "coldest",
                    models.SmallIntegerField(
                        blank=True,
                        help_text="From the memory of the thermometer, if it has one.",
                        null=True,
                        verbose_name="lowest since the last reading",
                    ),
                ),
                (
                    "warmest",
                    models.SmallIntegerField(
                        blank=True, null=True, verbose_name="highest since the last reading"
                    ),
                ),
                ("lowest", models.SmallIntegerField(verbose_name="range from")),
                ("highest", models.SmallIntegerField(verbose_name="range to")),
                (
                    "done",
                    models.CharField(blank=True, max_length=300, verbose_name="what was done"),
                ),
                ("note", models.CharField(blank=True, max_length=300)),
                ("logged_at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "place",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="readings",
                        to="clinic.place",
                    ),
                ),
            ],
            options={
                "ordering": ["-read_at", "-id"],
            },
        ),
        migrations.CreateModel(
            name="ExcursionReview",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("decision", models.CharField(max_length=1000)),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "first",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="clinic.fridgereading",
                    ),
                ),
                (
                    "last",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="clinic.fridgereading",
                    ),
                ),
            ],
            options={
                "ordering": ["-id"],
            },
        ),
        migrations.AddConstraint(
            model_name="fridgereading",
            constraint=models.UniqueConstraint(
                fields=("place", "read_at"),
                name="reading_one_at_a_time",
                violation_error_message="This fridge has a reading of this minute already.",
            ),
        ),
        migrations.AddConstraint(
            model_name="fridgereading",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("coldest__isnull", True),
                    ("coldest__lte", models.F("temperature")),
                    _connector="OR",
                ),
                name="reading_coldest_is_not_above",
            ),
        ),
        migrations.AddConstraint(
            model_name="fridgereading",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("warmest__isnull", True),
                    ("warmest__gte", models.F("temperature")),
                    _connector="OR",
                ),
                name="reading_warmest_is_not_below",
            ),
        ),
        migrations.AddConstraint(
            model_name="fridgereading",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("temperature__range", (-1000, 1000)),
                    models.Q(
                        ("coldest__isnull", True),
                        ("coldest__range", (-1000, 1000)),
                        _connector="OR",
                    ),
                    models.Q(
                        ("warmest__isnull", True),
                        ("warmest__range", (-1000, 1000)),
                        _connector="OR",
                    ),
                ),
                name="reading_is_a_temperature",
            ),
        ),
        migrations.AddConstraint(
            model_name="fridgereading",
            constraint=models.CheckConstraint(
                condition=models.Q(("highest__gt", models.F("lowest"))), name="reading_has_a_range"
            ),
        ),
        migrations.AddConstraint(
            model_name="fridgereading",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(
                        ("temperature__lt", models.F("lowest")),
                        ("temperature__gt", models.F("highest")),
                        models.Q(("coldest__isnull", False), ("coldest__lt", models.F("lowest"))),
                        models.Q(("warmest__gt", models.F("highest")), ("warmest__isnull", False)),
                        _connector="OR",
                        _negated=True,
                    ),
                    models.Q(("done", ""), _negated=True),
                    _connector="OR",
                ),
                name="reading_outside_says_what_was_done",
                violation_error_message="Say what was done.",
            ),
        ),
        migrations.AddConstraint(
            model_name="excursionreview",
            constraint=models.CheckConstraint(
                condition=models.Q(("decision", ""), _negated=True),
                name="excursion_review_says_something",
            ),
        ),
    ]
