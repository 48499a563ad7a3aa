import django.core.validators
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

import clinic.stock.validators


class Migration(migrations.Migration):
    dependencies = [
        ("clinic", "0006_fridge_readings"),
    ]

    operations = [
        migrations.CreateModel(
            name="StockCount",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "scope",
                    models.CharField(
                        choices=[
                            ("place", "One place"),
                            ("nowhere", "What was not put anywhere"),
                            ("everything", "The whole stock"),
                        ],
                        max_length=10,
                        verbose_name="what is counted",
                    ),
                ),
                ("started_at", models.DateTimeField()),
                ("posted_at", models.DateTimeField(null=True)),
                ("given_up_at", models.DateTimeField(null=True)),
                ("give_up_reason", models.CharField(blank=True, max_length=300)),
                (
                    "given_up_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "place",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="counts",
                        to="clinic.place",
                    ),
                ),
                (
                    "posted_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "started_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-id"],
            },
        ),
        migrations.CreateModel(
            name="CountedUnit",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "way",
                    models.CharField(
                        choices=[
                            ("scanned", "Scanned"),
                            ("typed", "Label typed"),
                            ("ticked", "Ticked in the list"),
                        ],
                        max_length=10,
                        verbose_name="noted by",
                    ),
                ),
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
                    "unit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="clinic.unitofstock",
                    ),
                ),
                (
                    "count",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="seen",
                        to="clinic.stockcount",
                    ),
                ),
            ],
            options={
                "ordering": ["id"],
            },
        ),
        migrations.CreateModel(
            name="CountedExtra",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("gtin", models.CharField(blank=True, max_length=14, verbose_name="GTIN")),
                (
                    "number",
                    models.CharField(
                        max_length=20,
                        validators=[clinic.stock.validators.validate_lot_number],
                        verbose_name="lot number",
                    ),
                ),
                ("expires_on", models.DateField(blank=True, null=True, verbose_name="expiry")),
                (
                    "serial",
                    models.CharField(blank=True, max_length=20, verbose_name="serial number"),
                ),
                (
                    "quantity",
                    models.PositiveSmallIntegerField(
                        validators=[
                            django.core.validators.MinValueValidator(1),
                            django.core.validators.MaxValueValidator(500),
                        ]
                    ),
                ),
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
                    "product",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="clinic.product",
                    ),
                ),
                (
                    "count",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="extras",
                        to="clinic.stockcount",
                    ),
                ),
            ],
            options={
                "ordering": ["id"],
            },
        ),
        migrations.CreateModel(
            name="CountDifference",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("explanation", models.CharField(max_length=300)),
                (
                    "movement",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="clinic.stockmovement",
                    ),
                ),
                (
                    "unit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="clinic.unitofstock",
                    ),
                ),
                (
                    "count",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="differences",
                        to="clinic.stockcount",
                    ),
                ),
            ],
            options={
                "ordering": ["id"],
            },
        ),
        migrations.AddConstraint(
            model_name="stockcount",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("place__isnull", False), ("scope", "place")),
                    models.Q(("scope__in", ["nowhere", "everything"]), ("place__isnull", True)),
                    _connector="OR",
                ),
                name="count_place_as_its_scope_says",
                violation_error_message="Choose the place that is counted.",
            ),
        ),
        migrations.AddConstraint(
            model_name="stockcount",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("posted_at__isnull", True), ("posted_by__isnull", True)),
                    models.Q(("posted_at__isnull", False), ("posted_by__isnull", False)),
                    _connector="OR",
                ),
                name="count_posted_by_somebody",
            ),
        ),
        migrations.AddConstraint(
            model_name="stockcount",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(
                        ("give_up_reason", ""),
                        ("given_up_at__isnull", True),
                        ("given_up_by__isnull", True),
                    ),
                    models.Q(
                        ("given_up_at__isnull", False),
                        ("given_up_by__isnull", False),
                        models.Q(("give_up_reason", ""), _negated=True),
                    ),
                    _connector="OR",
                ),
                name="count_given_up_with_a_reason",
            ),
        ),
        migrations.AddConstraint(
            model_name="stockcount",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("posted_at__isnull", True), ("given_up_at__isnull", True), _connector="OR"
                ),
                name="count_ends_once",
            ),
        ),
        migrations.AddConstraint(
            model_name="stockcount",
            constraint=models.UniqueConstraint(
                condition=models.Q(
                    ("given_up_at__isnull", True),
                    ("posted_at__isnull", True),
                    ("place__isnull", False),
                ),
                fields=("place",),
                name="count_one_at_a_time_of_a_place",
            ),
        ),
        migrations.AddConstraint(
            model_name="stockcount",
            constraint=models.UniqueConstraint(
                condition=models.Q(
                    ("given_up_at__isnull", True),
                    ("posted_at__isnull", True),
                    ("place__isnull", True),
                ),
                fields=("scope",),
                name="count_one_at_a_time_without_a_place",
            ),
        ),
        migrations.AddConstraint(
            model_name="countedunit",
            constraint=models.UniqueConstraint(fields=("count", "unit"), name="counted_unit_once"),
        ),
        migrations.AddConstraint(
            model_name="countedunit",
            constraint=models.CheckConstraint(
                condition=models.Q(("way__in", ["scanned", "typed", "ticked"])),
                name="counted_unit_way_is_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="countedextra",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("product__isnull", False),
                    models.Q(("gtin", ""), _negated=True),
                    _connector="OR",
                ),
                name="counted_extra_is_something",
            ),
        ),
        migrations.AddConstraint(
            model_name="countedextra",
            constraint=models.CheckConstraint(
                condition=models.Q(("quantity__gte", 1), ("quantity__lte", 500)),
                name="counted_extra_quantity",
            ),
        ),
        migrations.AddConstraint(
            model_name="countedextra",
            constraint=models.CheckConstraint(
                condition=models.Q(("serial", ""), ("quantity", 1), _connector="OR"),
                name="counted_extra_serial_is_of_one",
            ),
        ),
        migrations.AddConstraint(
            model_name="countedextra",
            constraint=models.UniqueConstraint(
                condition=models.Q(("product__isnull", False)),
                fields=("count", "product", "number", "serial"),
                name="counted_extra_once_per_lot",
            ),
        ),
        migrations.AddConstraint(
            model_name="countedextra",
            constraint=models.UniqueConstraint(
                condition=models.Q(("product__isnull", True)),
                fields=("count", "gtin", "number", "serial"),
                name="counted_extra_once_per_gtin",
            ),
        ),
        migrations.AddConstraint(
            model_name="countdifference",
            constraint=models.UniqueConstraint(
                fields=("count", "unit"), name="count_difference_once"
            ),
        ),
        migrations.AddConstraint(
            model_name="countdifference",
            constraint=models.CheckConstraint(
                condition=models.Q(("explanation", ""), _negated=True),
                name="count_difference_is_explained",
            ),
        ),
    ]
