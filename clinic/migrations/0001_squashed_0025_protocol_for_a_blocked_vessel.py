"""
All up to here in one step, for a database without tables; one that has them goes the old way.

Each table is made whole, in an order in which it finds those it names: adding its constraints one
after the other took three times as long.
"""

import datetime

import django.contrib.auth.validators
import django.core.validators
import django.db.models.deletion
import django.db.models.expressions
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models

import clinic.places.enums
import clinic.policy.models
import clinic.policy.validators
import clinic.products.fields
import clinic.products.validators
import clinic.review_rules.enums
import clinic.stock.enums
import clinic.stock.validators
import planning.allocation.shelf
import planning.review_rules
import planning.sources


class Migration(migrations.Migration):
    initial = True

    replaces = [
        ("clinic", "0001_initial"),
        ("clinic", "0002_tablet_codes"),
        ("clinic", "0003_places_and_quarantine"),
        ("clinic", "0004_quarantines_of_before"),
        ("clinic", "0005_receipts"),
        ("clinic", "0006_fridge_readings"),
        ("clinic", "0007_stock_counts"),
        ("clinic", "0008_plans_and_prices"),
        ("clinic", "0009_face_atlas"),
        ("clinic", "0010_limits_of_the_clinics_own"),
        ("clinic", "0011_review_rules"),
        ("clinic", "0012_visits_of_the_diary"),
        ("clinic", "0013_asked_at_booking"),
        ("clinic", "0014_contact_tries"),
        ("clinic", "0015_places_at_sites"),
        ("clinic", "0016_sites_of_places"),
        ("clinic", "0017_place_needs_a_site"),
        ("clinic", "0018_worker_seen"),
        ("clinic", "0019_waiting_list"),
        ("clinic", "0020_one_place_of_quiet_hours"),
        ("clinic", "0021_youngest_patient_is_no_slip"),
        ("clinic", "0022_emergency_kit"),
        ("clinic", "0023_history_months"),
        ("clinic", "0024_cooling_off_waived"),
        ("clinic", "0025_protocol_for_a_blocked_vessel"),
    ]

    dependencies = [
        ("auth", "0012_alter_user_first_name_max_length"),
    ]

    operations = [
        migrations.CreateModel(
            name="Counter",
            fields=[
                ("name", models.CharField(max_length=40, primary_key=True, serialize=False)),
                ("value", models.PositiveBigIntegerField(default=0)),
            ],
        ),
        migrations.CreateModel(
            name="Site",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("name", models.CharField(max_length=100, unique=True)),
                (
                    "address",
                    models.TextField(
                        blank=True, help_text="Told to patients who are booked there."
                    ),
                ),
                ("phone", models.CharField(blank=True, max_length=40)),
                ("is_active", models.BooleanField(default=True, verbose_name="in use")),
            ],
            options={
                "ordering": ["name"],
            },
        ),
        migrations.CreateModel(
            name="User",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("password", models.CharField(max_length=128, verbose_name="password")),
                (
                    "last_login",
                    models.DateTimeField(blank=True, null=True, verbose_name="last login"),
                ),
                (
                    "is_superuser",
                    models.BooleanField(
                        default=False,
                        help_text="Designates that this user has all permissions without explicitly assigning them.",
                        verbose_name="superuser status",
                    ),
                ),
                (
                    "username",
                    models.CharField(
                        error_messages={"unique": "A user with that username already exists."},
                        help_text="Required. 150 characters or fewer. Letters, digits and @/./+/-/_ only.",
                        max_length=150,
                        unique=True,
                        validators=[django.contrib.auth.validators.UnicodeUsernameValidator()],
                        verbose_name="username",
                    ),
                ),
                (
                    "email",
                    models.EmailField(blank=True, max_length=254, verbose_name="email address"),
                ),
                (
                    "is_staff",
                    models.BooleanField(
                        default=False,
                        help_text="Designates whether the user can log into this admin site.",
                        verbose_name="staff status",
                    ),
                ),
                (
                    "is_active",
                    models.BooleanField(
                        default=True,
                        help_text="Designates whether this user should be treated as active. Unselect this instead of deleting accounts.",
                        verbose_name="active",
                    ),
                ),
                (
                    "date_joined",
                    models.DateTimeField(
                        default=django.utils.timezone.now, verbose_name="date joined"
                    ),
                ),
                (
                    "full_name",
                    models.CharField(
                        help_text="As it is signed on a note.", max_length=200, verbose_name="name"
                    ),
                ),
                (
                    "registration_number",
                    models.CharField(
                        blank=True,
                        help_text="Register and number, printed beside the signature.",
                        max_length=60,
                        verbose_name="professional registration",
                    ),
                ),
                ("is_front_desk", models.BooleanField(default=False, verbose_name="front desk")),
                ("is_injector", models.BooleanField(default=False, verbose_name="injector")),
                ("is_owner", models.BooleanField(default=False, verbose_name="practice owner")),
                (
                    "groups",
                    models.ManyToManyField(
                        blank=True,
                        help_text="The groups this user belongs to. A user will get all permissions granted to each of their groups.",
                        related_name="user_set",
                        related_query_name="user",
                        to="auth.group",
                        verbose_name="groups",
                    ),
                ),
                (
                    "user_permissions",
                    models.ManyToManyField(
                        blank=True,
                        help_text="Specific permissions for this user.",
                        related_name="user_set",
                        related_query_name="user",
                        to="auth.permission",
                        verbose_name="user permissions",
                    ),
                ),
            ],
            options={
                "ordering": ["full_name", "id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("is_front_desk", True),
                            ("is_injector", True),
                            ("is_owner", True),
                            _connector="OR",
                        ),
                        name="user_has_a_role",
                        violation_error_message="Give this member of staff at least one role.",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="AuditHead",
            fields=[
                (
                    "id",
                    models.PositiveSmallIntegerField(default=1, primary_key=True, serialize=False),
                ),
                ("count", models.PositiveBigIntegerField(default=0)),
                ("digest", models.CharField(max_length=64)),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("id", 1)), name="audit_head_is_one_row"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="ClinicPolicy",
            fields=[
                (
                    "id",
                    models.PositiveSmallIntegerField(
                        default=1, editable=False, primary_key=True, serialize=False
                    ),
                ),
                (
                    "name",
                    models.CharField(default="Our clinic", max_length=200, verbose_name="clinic"),
                ),
                ("address", models.TextField(blank=True, help_text="Printed on every note.")),
                ("phone", models.CharField(blank=True, max_length=40)),
                ("email", models.EmailField(blank=True, max_length=254)),
                (
                    "emergency_contact",
                    models.CharField(
                        blank=True,
                        help_text="Who a patient calls when something looks wrong.",
                        max_length=200,
                    ),
                ),
                (
                    "open_weekdays",
                    models.JSONField(
                        default=clinic.policy.models.monday_to_friday,
                        help_text="1 is Monday, 7 is Sunday (ISO 8601).",
                        validators=[clinic.policy.validators.validate_open_weekdays],
                    ),
                ),
                (
                    "review_count",
                    models.PositiveSmallIntegerField(
                        default=14,
                        validators=[
                            django.core.validators.MinValueValidator(1),
                            django.core.validators.MaxValueValidator(400),
                        ],
                        verbose_name="review after",
                    ),
                ),
                (
                    "review_unit",
                    models.CharField(
                        choices=[("day", "days"), ("week", "weeks"), ("month", "months")],
                        default="day",
                        max_length=10,
                    ),
                ),
                (
                    "review_lead_days",
                    models.PositiveSmallIntegerField(
                        default=7,
                        help_text="How many days ahead a review is shown as due soon.",
                        validators=[django.core.validators.MaxValueValidator(400)],
                    ),
                ),
                (
                    "review_grace_days",
                    models.PositiveSmallIntegerField(
                        default=7,
                        help_text="How many days after its date a review counts as overdue.",
                        validators=[django.core.validators.MaxValueValidator(400)],
                    ),
                ),
                (
                    "top_up_days",
                    models.PositiveSmallIntegerField(
                        default=42,
                        help_text="So long after a treatment, another with the same kind of product is a top-up.",
                        validators=[django.core.validators.MaxValueValidator(400)],
                    ),
                ),
                (
                    "contact_tries",
                    models.PositiveSmallIntegerField(
                        default=3,
                        help_text="After so many tries in a row that did not reach them, a patient is written to or the review is excused. Common practice, no source.",
                        validators=[
                            django.core.validators.MinValueValidator(1),
                            django.core.validators.MaxValueValidator(20),
                        ],
                    ),
                ),
                (
                    "top_up_wait_days",
                    models.PositiveSmallIntegerField(
                        blank=True,
                        default=14,
                        help_text="Days after the treatment. Empty: not checked.",
                        null=True,
                        validators=[django.core.validators.MaxValueValidator(400)],
                        verbose_name="top-up not before",
                    ),
                ),
                (
                    "cooling_off_days",
                    models.PositiveSmallIntegerField(
                        blank=True,
                        help_text="Days between the consultation and a first treatment. Empty: not checked.",
                        null=True,
                        validators=[django.core.validators.MaxValueValidator(400)],
                        verbose_name="cooling-off",
                    ),
                ),
                (
                    "history_months",
                    models.PositiveSmallIntegerField(
                        blank=True,
                        default=12,
                        help_text="Months since the patient last stood by it. Empty: not checked.",
                        null=True,
                        validators=[
                            django.core.validators.MinValueValidator(1),
                            django.core.validators.MaxValueValidator(120),
                        ],
                        verbose_name="medical history asked anew after",
                    ),
                ),
                (
                    "cooling_off_may_be_waived",
                    models.BooleanField(
                        default=False,
                        help_text="With a reason in writing. Otherwise nobody may. Check your local law.",
                        verbose_name="an injector may treat within the cooling-off time",
                    ),
                ),
                (
                    "quiet_from",
                    models.TimeField(
                        default=datetime.time(20, 0),
                        help_text="Quiet hours: what is due in them waits, and no offer ends in them.",
                        verbose_name="nobody is written to from",
                    ),
                ),
                (
                    "quiet_until",
                    models.TimeField(
                        default=datetime.time(8, 0),
                        help_text="The same time twice: no quiet hours. Common practice, no source.",
                        verbose_name="until",
                    ),
                ),
                (
                    "offer_minutes",
                    models.PositiveSmallIntegerField(
                        default=120,
                        help_text="Minutes outside of quiet hours. Common practice, no source.",
                        validators=[
                            django.core.validators.MinValueValidator(5),
                            django.core.validators.MaxValueValidator(10080),
                        ],
                        verbose_name="an offered time is held for",
                    ),
                ),
                (
                    "offer_margin_minutes",
                    models.PositiveSmallIntegerField(
                        default=60,
                        help_text="Minutes before the start. Common practice, no source.",
                        validators=[django.core.validators.MaxValueValidator(2880)],
                        verbose_name="at most until",
                    ),
                ),
                (
                    "offers_go_on",
                    models.BooleanField(
                        default=True,
                        help_text="By itself. Otherwise the front desk is asked.",
                        verbose_name="offer a time that is not taken to the next on the waiting list",
                    ),
                ),
                (
                    "holiday_country",
                    models.CharField(
                        blank=True,
                        help_text="Whose public holidays the clinic keeps.",
                        max_length=2,
                    ),
                ),
                (
                    "holiday_part",
                    models.CharField(
                        blank=True,
                        help_text="Where parts of the country have holidays of their own.",
                        max_length=20,
                    ),
                ),
                (
                    "expiry_warning_days",
                    models.PositiveSmallIntegerField(
                        default=60,
                        help_text="How many days ahead an expiry date is pointed out.",
                        validators=[django.core.validators.MaxValueValidator(3650)],
                    ),
                ),
                (
                    "expiry_urgent_days",
                    models.PositiveSmallIntegerField(
                        default=14,
                        help_text="How many days ahead an expiry date becomes urgent.",
                        validators=[django.core.validators.MaxValueValidator(3650)],
                    ),
                ),
                (
                    "reorder_weeks",
                    models.PositiveSmallIntegerField(
                        default=12,
                        help_text="How many past weeks the use per week is reckoned from.",
                        validators=[
                            django.core.validators.MinValueValidator(1),
                            django.core.validators.MaxValueValidator(104),
                        ],
                    ),
                ),
                (
                    "reorder_spare_days",
                    models.PositiveSmallIntegerField(
                        default=7,
                        help_text="How many days of use are kept in reserve beyond the delivery time.",
                        validators=[django.core.validators.MaxValueValidator(365)],
                    ),
                ),
                (
                    "reading_hours",
                    models.PositiveSmallIntegerField(
                        default=24,
                        help_text="A fridge without a reading for so long is pointed out.",
                        validators=[
                            django.core.validators.MinValueValidator(1),
                            django.core.validators.MaxValueValidator(168),
                        ],
                    ),
                ),
                (
                    "minimum_age_years",
                    models.PositiveSmallIntegerField(
                        default=18,
                        help_text="Check your local law: some places set a higher age.",
                        validators=[
                            django.core.validators.MinValueValidator(12),
                            django.core.validators.MaxValueValidator(120),
                        ],
                    ),
                ),
                (
                    "toxin_interval_days",
                    models.PositiveSmallIntegerField(
                        default=90,
                        help_text="Shortest time between two toxin treatments.",
                        validators=[django.core.validators.MaxValueValidator(3650)],
                    ),
                ),
                (
                    "toxin_ceiling_centiunits",
                    models.PositiveIntegerField(
                        default=40000,
                        help_text="Toxin of one product in any three months, in hundredths of a unit.",
                        validators=[django.core.validators.MinValueValidator(1)],
                        verbose_name="toxin of one product in three months",
                    ),
                ),
                (
                    "filler_ul_per_60_kg_year",
                    models.PositiveIntegerField(
                        blank=True,
                        help_text="Filler per 60 kg of body weight and rolling year, in microlitres. Empty: not checked.",
                        null=True,
                        verbose_name="filler per 60 kg in a rolling year",
                    ),
                ),
                (
                    "filler_session_ul",
                    models.PositiveIntegerField(
                        blank=True,
                        help_text="Filler in one session, in microlitres. Empty: not checked.",
                        null=True,
                        validators=[django.core.validators.MinValueValidator(1)],
                        verbose_name="filler in a session",
                    ),
                ),
                (
                    "toxin_session_centiunits",
                    models.PositiveIntegerField(
                        blank=True,
                        help_text="Toxin of one kind in one session, in hundredths of a unit. Empty: not checked.",
                        null=True,
                        validators=[django.core.validators.MinValueValidator(1)],
                        verbose_name="toxin in a session",
                    ),
                ),
                (
                    "side_difference_percent",
                    models.PositiveSmallIntegerField(
                        blank=True,
                        default=25,
                        help_text="By how much of the larger side left and right may differ. Empty: not checked.",
                        null=True,
                        validators=[
                            django.core.validators.MinValueValidator(1),
                            django.core.validators.MaxValueValidator(100),
                        ],
                        verbose_name="left and right apart",
                    ),
                ),
                (
                    "wait_vaccine_days",
                    models.PositiveSmallIntegerField(
                        blank=True,
                        null=True,
                        validators=[
                            django.core.validators.MinValueValidator(1),
                            django.core.validators.MaxValueValidator(3650),
                        ],
                        verbose_name="after a vaccine",
                    ),
                ),
                (
                    "wait_dental_days",
                    models.PositiveSmallIntegerField(
                        blank=True,
                        null=True,
                        validators=[
                            django.core.validators.MinValueValidator(1),
                            django.core.validators.MaxValueValidator(3650),
                        ],
                        verbose_name="after dental work",
                    ),
                ),
                (
                    "wait_skin_days",
                    models.PositiveSmallIntegerField(
                        blank=True,
                        null=True,
                        validators=[
                            django.core.validators.MinValueValidator(1),
                            django.core.validators.MaxValueValidator(3650),
                        ],
                        verbose_name="after a laser or peel",
                    ),
                ),
                (
                    "wait_surgery_days",
                    models.PositiveSmallIntegerField(
                        blank=True,
                        null=True,
                        validators=[
                            django.core.validators.MinValueValidator(1),
                            django.core.validators.MaxValueValidator(3650),
                        ],
                        verbose_name="after surgery",
                    ),
                ),
                (
                    "plan_preference",
                    models.CharField(
                        choices=[("waste", "Least product wasted"), ("cost", "Least cost")],
                        default=planning.allocation.shelf.Preference["WASTE"],
                        help_text="What is made least when a plan chooses packs; the other decides between equals.",
                        max_length=10,
                        verbose_name="units of a plan are chosen for",
                    ),
                ),
                (
                    "one_plane_a_unit",
                    models.BooleanField(
                        default=True,
                        help_text="When a plan chooses packs. A session can always be charted as it happened.",
                        verbose_name="a syringe is used in one plane only",
                    ),
                ),
                (
                    "asks_time_out",
                    models.BooleanField(
                        default=True,
                        help_text="The tablet asks for it, and points given without one are flagged. Common practice, no source.",
                        verbose_name="a time-out before the first point",
                    ),
                ),
                (
                    "currency",
                    models.CharField(
                        default="EUR",
                        help_text="Of prices, as the three letters of ISO 4217.",
                        max_length=3,
                        validators=[clinic.policy.validators.validate_currency],
                    ),
                ),
                (
                    "tablet_lock_minutes",
                    models.PositiveSmallIntegerField(
                        default=5,
                        help_text="Without a touch or a key for so long, a charting tablet covers its screen.",
                        validators=[
                            django.core.validators.MinValueValidator(1),
                            django.core.validators.MaxValueValidator(60),
                        ],
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("id", 1)), name="policy_is_one_row"),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("holiday_part", ""),
                            models.Q(("holiday_country", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="policy_holiday_part_of_a_country",
                        violation_error_message="Choose the country as well.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Closure",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("starts_on", models.DateField(verbose_name="first day")),
                ("ends_on", models.DateField(verbose_name="last day")),
                ("reason", models.CharField(max_length=200)),
            ],
            options={
                "ordering": ["starts_on"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("ends_on__gte", models.F("starts_on"))),
                        name="closure_ends_after_start",
                        violation_error_message="The last day lies before the first day.",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="EffectDuration",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "backing",
                    models.CharField(
                        choices=[
                            ("clinic_policy", "Clinic policy"),
                            ("common_practice", "Common practice, no source"),
                            ("published", "Published source"),
                        ],
                        default=planning.sources.Confidence["CLINIC_POLICY"],
                        max_length=20,
                        verbose_name="known from",
                    ),
                ),
                (
                    "source",
                    models.CharField(
                        blank=True,
                        help_text="Needed for a published one.",
                        max_length=200,
                        verbose_name="which source",
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("ha_filler", "Hyaluronic acid filler"),
                            ("other_filler", "Other filler"),
                            ("toxin", "Toxin"),
                            ("hyaluronidase", "Hyaluronidase"),
                            ("anaesthetic", "Anaesthetic"),
                            ("emergency", "Emergency medicine"),
                        ],
                        max_length=20,
                        verbose_name="product",
                    ),
                ),
                (
                    "group",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("upper_face", "Upper face"),
                            ("midface", "Midface"),
                            ("lower_face", "Lower face"),
                            ("lips", "Lips and mouth"),
                            ("neck", "Neck and décolleté"),
                            ("hands", "Hands"),
                        ],
                        max_length=20,
                        verbose_name="part of the body",
                    ),
                ),
                (
                    "least_months",
                    models.PositiveSmallIntegerField(
                        validators=[
                            django.core.validators.MinValueValidator(1),
                            django.core.validators.MaxValueValidator(120),
                        ],
                        verbose_name="lasts at least",
                    ),
                ),
                (
                    "most_months",
                    models.PositiveSmallIntegerField(
                        validators=[
                            django.core.validators.MinValueValidator(1),
                            django.core.validators.MaxValueValidator(120),
                        ],
                        verbose_name="lasts at most",
                    ),
                ),
            ],
            options={
                "ordering": ["kind", "group"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("kind", "group"),
                        name="effect_duration_once",
                        violation_error_message="There is a range for this product and part of the body already: change that one.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("least_months__gte", 1), ("most_months__gte", models.F("least_months"))
                        ),
                        name="effect_duration_is_a_range",
                        violation_error_message="The range starts at 1 month or more and ends no earlier.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("backing", "published"), _negated=True),
                            models.Q(("source", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="effect_duration_published_says_where",
                        violation_error_message="Say which published source it is.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "kind__in",
                                [
                                    "ha_filler",
                                    "other_filler",
                                    "toxin",
                                    "hyaluronidase",
                                    "anaesthetic",
                                    "emergency",
                                ],
                            )
                        ),
                        name="effect_duration_kind_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "group__in",
                                [
                                    "upper_face",
                                    "midface",
                                    "lower_face",
                                    "lips",
                                    "neck",
                                    "hands",
                                    "",
                                ],
                            )
                        ),
                        name="effect_duration_group_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("backing__in", ["clinic_policy", "common_practice", "published"])
                        ),
                        name="effect_duration_backing_is_known",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Product",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("name", models.CharField(max_length=200, unique=True)),
                ("maker", models.CharField(max_length=200)),
                (
                    "line",
                    models.CharField(
                        blank=True,
                        help_text="Packs of several sizes of one product carry the same words here, so that a plan can use any of them.",
                        max_length=100,
                        verbose_name="product line",
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("ha_filler", "Hyaluronic acid filler"),
                            ("other_filler", "Other filler"),
                            ("toxin", "Toxin"),
                            ("hyaluronidase", "Hyaluronidase"),
                            ("anaesthetic", "Anaesthetic"),
                            ("emergency", "Emergency medicine"),
                        ],
                        max_length=20,
                    ),
                ),
                (
                    "content",
                    models.PositiveBigIntegerField(
                        help_text="Microlitres in a syringe, hundredths of a unit in a vial of toxin.",
                        validators=[django.core.validators.MinValueValidator(1)],
                        verbose_name="content of one unit",
                    ),
                ),
                (
                    "gtin",
                    clinic.products.fields.GtinField(
                        blank=True,
                        help_text="The number under the bar code, 8 to 14 digits.",
                        max_length=14,
                        null=True,
                        unique=True,
                        validators=[clinic.products.validators.validate_gtin],
                        verbose_name="GTIN",
                    ),
                ),
                (
                    "lidocaine_ug_per_ml",
                    models.PositiveIntegerField(
                        default=0,
                        help_text="Micrograms per millilitre; 0.3 % is 3,000.",
                        verbose_name="lidocaine",
                    ),
                ),
                (
                    "is_single_patient",
                    models.BooleanField(
                        default=True,
                        help_text="A unit is bound to the first patient it is opened for.",
                        verbose_name="for a single patient",
                    ),
                ),
                (
                    "hours_after_opening",
                    models.PositiveSmallIntegerField(
                        blank=True,
                        help_text="For a vial that is made up or shared. The instructions for use say how long.",
                        null=True,
                        validators=[
                            django.core.validators.MinValueValidator(1),
                            django.core.validators.MaxValueValidator(8760),
                        ],
                        verbose_name="hours usable after opening",
                    ),
                ),
                (
                    "typical_duration_months",
                    models.PositiveSmallIntegerField(
                        blank=True,
                        null=True,
                        validators=[
                            django.core.validators.MinValueValidator(1),
                            django.core.validators.MaxValueValidator(120),
                        ],
                        verbose_name="typical duration in months",
                    ),
                ),
                (
                    "units_per_pack",
                    models.PositiveSmallIntegerField(
                        default=1,
                        help_text="Syringes or vials behind one scanned code.",
                        validators=[
                            django.core.validators.MinValueValidator(1),
                            django.core.validators.MaxValueValidator(100),
                        ],
                        verbose_name="units in a pack",
                    ),
                ),
                (
                    "supplier",
                    models.CharField(
                        blank=True, help_text="Who it is ordered from.", max_length=200
                    ),
                ),
                (
                    "lead_time_days",
                    models.PositiveSmallIntegerField(
                        blank=True,
                        null=True,
                        validators=[django.core.validators.MaxValueValidator(365)],
                        verbose_name="days from order to delivery",
                    ),
                ),
                (
                    "price",
                    models.PositiveIntegerField(
                        blank=True,
                        help_text="What the patient pays for one unit.",
                        null=True,
                        verbose_name="price of one unit",
                    ),
                ),
                (
                    "keep_lowest_tenths",
                    models.SmallIntegerField(
                        blank=True, null=True, verbose_name="kept at no less than"
                    ),
                ),
                (
                    "keep_highest_tenths",
                    models.SmallIntegerField(
                        blank=True, null=True, verbose_name="kept at no more than"
                    ),
                ),
                ("is_active", models.BooleanField(default=True, verbose_name="in use")),
            ],
            options={
                "ordering": ["name"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "kind__in",
                                [
                                    "ha_filler",
                                    "other_filler",
                                    "toxin",
                                    "hyaluronidase",
                                    "anaesthetic",
                                    "emergency",
                                ],
                            )
                        ),
                        name="product_kind_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("content__gt", 0)), name="product_content_positive"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("gtin__isnull", True), ("gtin__length", 14), _connector="OR"
                        ),
                        name="product_gtin_has_14_digits",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("units_per_pack__gt", 0)),
                        name="product_pack_holds_something",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("keep_highest_tenths__isnull", True),
                                ("keep_lowest_tenths__isnull", True),
                            ),
                            models.Q(
                                ("keep_highest_tenths__gt", models.F("keep_lowest_tenths")),
                                ("keep_highest_tenths__isnull", False),
                                ("keep_lowest_tenths__isnull", False),
                            ),
                            _connector="OR",
                        ),
                        name="product_kept_between",
                        violation_error_message="Give both temperatures, the lower one first.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="ReviewRule",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "backing",
                    models.CharField(
                        choices=[
                            ("clinic_policy", "Clinic policy"),
                            ("common_practice", "Common practice, no source"),
                            ("published", "Published source"),
                        ],
                        default=planning.sources.Confidence["CLINIC_POLICY"],
                        max_length=20,
                        verbose_name="known from",
                    ),
                ),
                (
                    "source",
                    models.CharField(
                        blank=True,
                        help_text="Needed for a published one.",
                        max_length=200,
                        verbose_name="which source",
                    ),
                ),
                (
                    "label",
                    models.CharField(
                        help_text="The front desk reads it: name the visit, not what is wrong.",
                        max_length=60,
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("ha_filler", "Hyaluronic acid filler"),
                            ("other_filler", "Other filler"),
                            ("toxin", "Toxin"),
                            ("hyaluronidase", "Hyaluronidase"),
                            ("anaesthetic", "Anaesthetic"),
                            ("emergency", "Emergency medicine"),
                        ],
                        max_length=20,
                        verbose_name="product",
                    ),
                ),
                (
                    "group",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("upper_face", "Upper face"),
                            ("midface", "Midface"),
                            ("lower_face", "Lower face"),
                            ("lips", "Lips and mouth"),
                            ("neck", "Neck and décolleté"),
                            ("hands", "Hands"),
                        ],
                        max_length=20,
                        verbose_name="part of the body",
                    ),
                ),
                (
                    "event",
                    models.CharField(
                        choices=[
                            ("treatment", "Any treatment"),
                            ("first", "First treatment of that kind"),
                            ("later", "Later treatment of that kind"),
                            ("top_up", "Top-up"),
                            ("adverse_event", "Adverse event"),
                        ],
                        default=planning.review_rules.ReviewEvent["TREATMENT"],
                        max_length=20,
                        verbose_name="after",
                    ),
                ),
                (
                    "count",
                    models.PositiveSmallIntegerField(
                        validators=[
                            django.core.validators.MinValueValidator(1),
                            django.core.validators.MaxValueValidator(400),
                        ],
                        verbose_name="review after",
                    ),
                ),
                (
                    "unit",
                    models.CharField(
                        choices=[("day", "days"), ("week", "weeks"), ("month", "months")],
                        default="day",
                        max_length=10,
                    ),
                ),
                (
                    "early_days",
                    models.PositiveSmallIntegerField(
                        default=0,
                        validators=[django.core.validators.MaxValueValidator(400)],
                        verbose_name="earliest",
                    ),
                ),
                (
                    "late_days",
                    models.PositiveSmallIntegerField(
                        default=7,
                        validators=[django.core.validators.MaxValueValidator(400)],
                        verbose_name="latest",
                    ),
                ),
                (
                    "rolling",
                    models.CharField(
                        choices=[
                            ("following", "To the next open day"),
                            ("preceding", "To the open day before"),
                            ("modified_following", "To the next open day of the same month"),
                        ],
                        default=clinic.review_rules.enums.Rolling["FOLLOWING"],
                        max_length=20,
                        verbose_name="on a closed day",
                    ),
                ),
                ("is_active", models.BooleanField(default=True, verbose_name="in use")),
            ],
            options={
                "ordering": ["kind", "group", "event", "id"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("is_active", True)),
                        fields=("kind", "group", "event"),
                        name="review_rule_once_in_use",
                        violation_error_message="Another rule in use is for the same product, part of the body and event. Change that one, or take it out of use first.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("count__gte", 1)), name="review_rule_count_positive"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("label", ""), _negated=True),
                        name="review_rule_has_label",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("backing", "published"), _negated=True),
                            models.Q(("source", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="review_rule_published_says_where",
                        violation_error_message="Say which published source it is.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "kind__in",
                                [
                                    "ha_filler",
                                    "other_filler",
                                    "toxin",
                                    "hyaluronidase",
                                    "anaesthetic",
                                    "emergency",
                                    "",
                                ],
                            )
                        ),
                        name="review_rule_kind_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "group__in",
                                [
                                    "upper_face",
                                    "midface",
                                    "lower_face",
                                    "lips",
                                    "neck",
                                    "hands",
                                    "",
                                ],
                            )
                        ),
                        name="review_rule_group_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "event__in",
                                ["treatment", "first", "later", "top_up", "adverse_event"],
                            )
                        ),
                        name="review_rule_event_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("unit__in", ["day", "week", "month"])),
                        name="review_rule_unit_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("rolling__in", ["following", "preceding", "modified_following"])
                        ),
                        name="review_rule_rolling_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("backing__in", ["clinic_policy", "common_practice", "published"])
                        ),
                        name="review_rule_backing_is_known",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="WorkerSeen",
            fields=[
                (
                    "id",
                    models.PositiveSmallIntegerField(default=1, primary_key=True, serialize=False),
                ),
                ("seen_at", models.DateTimeField()),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("id", 1)), name="worker_seen_is_one_row"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Place",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="places",
                        to="clinic.site",
                    ),
                ),
                ("name", models.CharField(max_length=100)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("cupboard", "Cupboard or shelf"),
                            ("fridge", "Fridge"),
                            ("room", "Treatment room"),
                            ("apart", "Set apart, not for use"),
                        ],
                        default=clinic.places.enums.PlaceKind["CUPBOARD"],
                        max_length=10,
                    ),
                ),
                (
                    "lowest_tenths",
                    models.SmallIntegerField(
                        blank=True, null=True, verbose_name="lowest temperature"
                    ),
                ),
                (
                    "highest_tenths",
                    models.SmallIntegerField(
                        blank=True, null=True, verbose_name="highest temperature"
                    ),
                ),
                ("is_active", models.BooleanField(default=True, verbose_name="in use")),
            ],
            options={
                "ordering": ["site__name", "name"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("site", "name"),
                        name="place_once_per_site",
                        violation_error_message="This site already has a place of this name.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("kind__in", ["cupboard", "fridge", "room", "apart"])),
                        name="place_kind_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("highest_tenths__isnull", True), ("lowest_tenths__isnull", True)
                            ),
                            models.Q(
                                ("highest_tenths__gt", models.F("lowest_tenths")),
                                ("highest_tenths__isnull", False),
                                ("lowest_tenths__isnull", False),
                            ),
                            _connector="OR",
                        ),
                        name="place_range_whole",
                        violation_error_message="Give both temperatures, the lower one first.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("kind", "fridge"), _negated=True),
                            ("lowest_tenths__isnull", False),
                            _connector="OR",
                        ),
                        name="place_fridge_has_range",
                        violation_error_message="Say between which temperatures this fridge is kept.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Room",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="rooms",
                        to="clinic.site",
                    ),
                ),
                ("name", models.CharField(max_length=100)),
                ("is_active", models.BooleanField(default=True, verbose_name="in use")),
            ],
            options={
                "ordering": ["site__name", "name"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("site", "name"),
                        name="room_once_per_site",
                        violation_error_message="This site already has a room of this name.",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="AtlasEntry",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("replaces", models.CharField(blank=True, editable=False, max_length=80)),
                ("is_withdrawal", models.BooleanField(default=False, editable=False)),
                (
                    "region",
                    models.CharField(
                        choices=[
                            ("forehead", "Frontal region"),
                            ("glabella", "Glabella"),
                            ("temple", "Temporal region"),
                            ("brow", "Eyebrow"),
                            ("orbital", "Orbital region"),
                            ("lateral_canthal", "Lateral canthal region"),
                            ("infraorbital", "Infraorbital region"),
                            ("zygomatic", "Zygomatic region"),
                            ("nasal", "Nasal region"),
                            ("nasolabial", "Nasolabial fold"),
                            ("upper_lip", "Upper lip"),
                            ("lower_lip", "Lower lip"),
                            ("oral_commissure", "Angle of mouth"),
                            ("buccal", "Buccal region"),
                            ("parotid_masseteric", "Parotideomasseteric region"),
                            ("mental", "Mental region"),
                            ("prejowl", "Pre-jowl jawline"),
                            ("submental", "Submental triangle"),
                            ("neck", "Anterior cervical region"),
                            ("ear", "Auricular region"),
                            ("sternocleidomastoid", "Sternocleidomastoid region"),
                            ("lateral_cervical", "Lateral cervical region"),
                            ("jugular_fossa", "Jugular fossa"),
                            ("presternal", "Presternal region"),
                            ("infraclavicular", "Infraclavicular region"),
                            ("wrist", "Posterior carpal region"),
                            ("metacarpal_1", "First metacarpal ray"),
                            ("metacarpal_2", "Second metacarpal ray"),
                            ("metacarpal_3", "Third metacarpal ray"),
                            ("metacarpal_4", "Fourth metacarpal ray"),
                            ("metacarpal_5", "Fifth metacarpal ray"),
                            ("digit_1", "Thumb"),
                            ("digit_2", "Index finger"),
                            ("digit_3", "Middle finger"),
                            ("digit_4", "Ring finger"),
                            ("digit_5", "Little finger"),
                        ],
                        max_length=40,
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("plane", "Usual plane"),
                            ("technique", "Usual technique"),
                            ("instrument", "Usual instrument"),
                            ("amount", "Usual amount"),
                            ("structure", "Structures to beware of"),
                            ("caution", "Cautions"),
                            ("hint", "Hints"),
                        ],
                        max_length=10,
                    ),
                ),
                (
                    "use",
                    models.CharField(
                        choices=[("any", "Any product"), ("filler", "Filler"), ("toxin", "Toxin")],
                        default="any",
                        max_length=10,
                        verbose_name="for",
                    ),
                ),
                ("term", models.CharField(blank=True, max_length=20, verbose_name="value")),
                ("text", models.CharField(blank=True, max_length=400)),
                ("least", models.PositiveIntegerField(blank=True, null=True)),
                ("most", models.PositiveIntegerField(blank=True, null=True)),
                (
                    "per",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("point", "a point"),
                            ("side", "a side"),
                            ("session", "a session, both sides"),
                        ],
                        max_length=10,
                        verbose_name="counted for",
                    ),
                ),
                ("substance", models.CharField(blank=True, max_length=40, verbose_name="toxin")),
                ("source_title", models.CharField(max_length=200, verbose_name="source")),
                ("source_detail", models.CharField(max_length=300, verbose_name="what it says")),
                (
                    "trust",
                    models.CharField(
                        choices=[
                            ("clinic_policy", "Clinic policy"),
                            ("published", "Published source"),
                            ("common_practice", "Common practice, no source"),
                            ("second_hand", "Read second-hand, not in the document itself"),
                            ("memory", "From memory, not checked"),
                        ],
                        max_length=20,
                        verbose_name="how it is known",
                    ),
                ),
                ("changed_at", models.DateTimeField(editable=False)),
                (
                    "changed_by",
                    models.ForeignKey(
                        editable=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["id"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("replaces", ""), _negated=True),
                        fields=("replaces",),
                        name="atlas_replaced_once",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("kind", "amount"), ("is_withdrawal", False)),
                        fields=("region", "use", "substance"),
                        name="atlas_one_amount",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("is_withdrawal", False),
                            models.Q(("replaces", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="atlas_withdrawal_names_its_key",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "region__in",
                                [
                                    "forehead",
                                    "glabella",
                                    "temple",
                                    "brow",
                                    "orbital",
                                    "lateral_canthal",
                                    "infraorbital",
                                    "zygomatic",
                                    "nasal",
                                    "nasolabial",
                                    "upper_lip",
                                    "lower_lip",
                                    "oral_commissure",
                                    "buccal",
                                    "parotid_masseteric",
                                    "mental",
                                    "prejowl",
                                    "submental",
                                    "neck",
                                    "ear",
                                    "sternocleidomastoid",
                                    "lateral_cervical",
                                    "jugular_fossa",
                                    "presternal",
                                    "infraclavicular",
                                    "wrist",
                                    "metacarpal_1",
                                    "metacarpal_2",
                                    "metacarpal_3",
                                    "metacarpal_4",
                                    "metacarpal_5",
                                    "digit_1",
                                    "digit_2",
                                    "digit_3",
                                    "digit_4",
                                    "digit_5",
                                ],
                            )
                        ),
                        name="atlas_region_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("use__in", ["any", "filler", "toxin"])),
                        name="atlas_use_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "trust__in",
                                [
                                    "clinic_policy",
                                    "published",
                                    "common_practice",
                                    "second_hand",
                                    "memory",
                                ],
                            )
                        ),
                        name="atlas_trust_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("kind__in", ["amount", "structure", "caution", "hint"]),
                                ("term", ""),
                            ),
                            models.Q(
                                ("kind", "plane"),
                                (
                                    "term__in",
                                    [
                                        "intradermal",
                                        "subcutaneous",
                                        "intramuscular",
                                        "submuscular",
                                        "deep_fat",
                                        "submucosal",
                                        "supraperiosteal",
                                    ],
                                ),
                            ),
                            models.Q(
                                ("kind", "technique"),
                                (
                                    "term__in",
                                    [
                                        "bolus",
                                        "linear_retrograde",
                                        "linear_anterograde",
                                        "fanning",
                                        "cross_hatching",
                                        "serial_puncture",
                                        "micro_droplet",
                                    ],
                                ),
                            ),
                            models.Q(("kind", "instrument"), ("term__in", ["needle", "cannula"])),
                            _connector="OR",
                        ),
                        name="atlas_term_fits_kind",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("kind__in", ["structure", "caution", "hint"]), _negated=True),
                            models.Q(("text", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="atlas_words_are_said",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                models.Q(("kind", "amount"), _negated=True),
                                ("least__isnull", True),
                                ("most__isnull", True),
                                ("per", ""),
                                ("substance", ""),
                            ),
                            models.Q(
                                ("kind", "amount"),
                                ("most__gt", 0),
                                ("most__isnull", False),
                                models.Q(
                                    models.Q(
                                        ("per__in", ["point", "side", "session"]),
                                        ("substance", ""),
                                        ("use", "filler"),
                                    ),
                                    models.Q(
                                        ("per", "session"),
                                        (
                                            "substance__in",
                                            [
                                                "onabotulinumtoxina",
                                                "incobotulinumtoxina",
                                                "prabotulinumtoxina",
                                                "abobotulinumtoxina",
                                            ],
                                        ),
                                        ("use", "toxin"),
                                    ),
                                    _connector="OR",
                                ),
                            ),
                            _connector="OR",
                        ),
                        name="atlas_amount_is_whole",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("least__isnull", True),
                            models.Q(("least__gt", 0), ("least__lte", models.F("most"))),
                            _connector="OR",
                        ),
                        name="atlas_least_is_below_most",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("source_title", ""), _negated=True),
                            models.Q(("source_detail", ""), _negated=True),
                        ),
                        name="atlas_has_a_source",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="AuditEvent",
            fields=[
                (
                    "id",
                    models.PositiveBigIntegerField(
                        primary_key=True, serialize=False, verbose_name="position"
                    ),
                ),
                ("at", models.DateTimeField()),
                (
                    "actor",
                    models.ForeignKey(
                        help_text="Empty when a command did it.",
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("action", models.CharField(max_length=60)),
                ("subject_type", models.CharField(max_length=60)),
                ("subject_id", models.CharField(max_length=60)),
                ("patient_id", models.PositiveBigIntegerField(null=True)),
                ("data", models.TextField(default="{}", help_text="JSON: before, after, reason.")),
                ("previous_digest", models.CharField(max_length=64)),
                ("digest", models.CharField(max_length=64)),
            ],
            options={
                "ordering": ["-id"],
                "indexes": [
                    models.Index(
                        condition=models.Q(("patient_id__isnull", False)),
                        fields=["patient_id", "-id"],
                        name="audit_by_patient",
                    ),
                    models.Index(fields=["at"], name="audit_by_time"),
                    models.Index(
                        fields=["subject_type", "subject_id", "-id"], name="audit_by_subject"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Lot",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "product",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lots",
                        to="clinic.product",
                    ),
                ),
                (
                    "number",
                    models.CharField(
                        max_length=20,
                        validators=[clinic.stock.validators.validate_lot_number],
                        verbose_name="lot number",
                    ),
                ),
                (
                    "expires_on",
                    models.DateField(
                        help_text="Usable through the end of this day.", verbose_name="expiry"
                    ),
                ),
                ("quarantined_at", models.DateTimeField(editable=False, null=True)),
                ("quarantine_reason", models.CharField(blank=True, editable=False, max_length=300)),
            ],
            options={
                "ordering": ["expires_on", "id"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("product", "number"),
                        name="lot_number_once_per_product",
                        violation_error_message="This product already has a lot with this number.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("quarantine_reason", ""), ("quarantined_at__isnull", True)),
                            models.Q(
                                ("quarantined_at__isnull", False),
                                models.Q(("quarantine_reason", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="lot_quarantine_has_a_reason",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("number", ""), _negated=True), name="lot_has_a_number"
                    ),
                ],
                "indexes": [models.Index(fields=["number"], name="lot_by_number")],
            },
        ),
        migrations.CreateModel(
            name="Protocol",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("number", models.PositiveIntegerField(unique=True)),
                ("saved_at", models.DateTimeField()),
                (
                    "saved_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "emergency_number",
                    models.CharField(
                        blank=True,
                        help_text="Such as 112, 999 or 911.",
                        max_length=40,
                        verbose_name="emergency services",
                    ),
                ),
                (
                    "eye_contact",
                    models.CharField(
                        blank=True,
                        help_text="The eye department on call: name and number.",
                        max_length=200,
                        verbose_name="eye emergency",
                    ),
                ),
                (
                    "help_contact",
                    models.CharField(
                        blank=True,
                        help_text="Who can be asked for advice at any time: name and number.",
                        max_length=200,
                        verbose_name="a colleague to ask",
                    ),
                ),
                (
                    "what_to_say",
                    models.TextField(
                        blank=True,
                        help_text="What is said on the telephone: where the clinic is, how the ambulance gets in.",
                        max_length=1000,
                    ),
                ),
                (
                    "reassess_minutes",
                    models.PositiveSmallIntegerField(
                        default=60,
                        help_text="Minutes after a dose, 15 to 60. Hourly: DeLorenzi, Aesthet Surg J 2017.",
                        validators=[
                            django.core.validators.MinValueValidator(15),
                            django.core.validators.MaxValueValidator(60),
                        ],
                        verbose_name="look again after",
                    ),
                ),
            ],
            options={
                "ordering": ["-number"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("reassess_minutes__range", (15, 60))),
                        name="protocol_looks_again_in_time",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Quarantine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "product",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="quarantines",
                        to="clinic.product",
                    ),
                ),
                (
                    "lot_first",
                    models.CharField(blank=True, max_length=20, verbose_name="lots from"),
                ),
                ("lot_last", models.CharField(blank=True, max_length=20, verbose_name="to")),
                (
                    "serial_first",
                    models.CharField(blank=True, max_length=20, verbose_name="serial numbers from"),
                ),
                ("serial_last", models.CharField(blank=True, max_length=20, verbose_name="to")),
                ("reason", models.CharField(max_length=300)),
                ("placed_at", models.DateTimeField()),
                (
                    "placed_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("lifted_at", models.DateTimeField(editable=False, null=True)),
                (
                    "lifted_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("lift_reason", models.CharField(blank=True, max_length=300)),
            ],
            options={
                "ordering": ["-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("reason", ""), _negated=True),
                        name="quarantine_has_a_reason",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("lot_first", ""), ("lot_last", "")),
                            models.Q(
                                models.Q(("lot_first", ""), _negated=True),
                                models.Q(("lot_last", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="quarantine_lots_whole",
                        violation_error_message="Give the first and the last lot number.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("serial_first", ""), ("serial_last", "")),
                            models.Q(
                                models.Q(("serial_first", ""), _negated=True),
                                models.Q(("serial_last", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="quarantine_serials_whole",
                        violation_error_message="Give the first and the last serial number.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("lift_reason", ""),
                                ("lifted_at__isnull", True),
                                ("lifted_by__isnull", True),
                            ),
                            models.Q(
                                ("lifted_at__isnull", False),
                                ("lifted_by__isnull", False),
                                models.Q(("lift_reason", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="quarantine_lifted_by_somebody",
                    ),
                ],
                "indexes": [
                    models.Index(
                        condition=models.Q(("lifted_at__isnull", True)),
                        fields=["product"],
                        name="quarantine_standing",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Receipt",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("key", models.CharField(max_length=64, unique=True)),
                ("lines", models.PositiveIntegerField(help_text="Lots, or rows of a list.")),
                ("first_number", models.PositiveBigIntegerField()),
                ("last_number", models.PositiveBigIntegerField()),
                ("at", models.DateTimeField()),
                (
                    "by",
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
                        condition=models.Q(("key", ""), _negated=True), name="receipt_has_a_key"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("last_number__gte", models.F("first_number")), ("lines__gt", 0)
                        ),
                        name="receipt_brings_something",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="EmergencyItem",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("name", models.CharField(max_length=100)),
                (
                    "site",
                    models.ForeignKey(
                        blank=True,
                        help_text="Empty: every site keeps it.",
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="emergency_items",
                        to="clinic.site",
                    ),
                ),
                (
                    "product_kind",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("ha_filler", "Hyaluronic acid filler"),
                            ("other_filler", "Other filler"),
                            ("toxin", "Toxin"),
                            ("hyaluronidase", "Hyaluronidase"),
                            ("anaesthetic", "Anaesthetic"),
                            ("emergency", "Emergency medicine"),
                        ],
                        max_length=20,
                        verbose_name="any product of this kind",
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
                        verbose_name="this product alone",
                    ),
                ),
                (
                    "minimum",
                    models.PositiveBigIntegerField(
                        blank=True,
                        null=True,
                        validators=[django.core.validators.MinValueValidator(1)],
                        verbose_name="at least",
                    ),
                ),
                ("expires_on", models.DateField(blank=True, null=True, verbose_name="expiry")),
                (
                    "source",
                    models.CharField(
                        blank=True,
                        help_text="A local code, a guideline with its year, or the clinic itself.",
                        max_length=300,
                        verbose_name="who asks for it",
                    ),
                ),
                ("is_active", models.BooleanField(default=True, verbose_name="in use")),
            ],
            options={
                "ordering": ["name", "id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("product_kind", ""), ("product__isnull", True), _connector="OR"
                        ),
                        name="emergency_item_one_way_of_counting",
                        violation_error_message="Count it by kind or by product, not by both.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                models.Q(
                                    models.Q(("product_kind", ""), _negated=True),
                                    ("product__isnull", False),
                                    _connector="OR",
                                ),
                                ("expires_on__isnull", True),
                                ("minimum__gt", 0),
                                ("minimum__isnull", False),
                            ),
                            models.Q(
                                models.Q(
                                    models.Q(("product_kind", ""), _negated=True),
                                    ("product__isnull", False),
                                    _connector="OR",
                                    _negated=True,
                                ),
                                ("minimum__isnull", True),
                            ),
                            _connector="OR",
                        ),
                        name="emergency_item_minimum_of_stock",
                        violation_error_message="What is counted in the stock has a minimum and no expiry of its own; what is not has no minimum.",
                    ),
                    models.UniqueConstraint(
                        fields=("name", "site"),
                        name="emergency_item_once_per_site",
                        violation_error_message="This site has an item of this name already.",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("site__isnull", True)),
                        fields=("name",),
                        name="emergency_item_once_for_all",
                        violation_error_message="There is an item of this name for every site already.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="UnlockCode",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "user",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="unlock_codes",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("device", models.UUIDField(help_text="The number a tablet gave itself.")),
                (
                    "salt",
                    models.CharField(
                        max_length=32,
                        validators=[django.core.validators.RegexValidator("^[0-9a-f]{32}$")],
                    ),
                ),
                (
                    "key",
                    models.CharField(
                        max_length=64,
                        validators=[django.core.validators.RegexValidator("^[0-9a-f]{64}$")],
                    ),
                ),
                (
                    "iterations",
                    models.PositiveIntegerField(
                        validators=[django.core.validators.MinValueValidator(310000)]
                    ),
                ),
                ("made_at", models.DateTimeField()),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        fields=("user", "device"), name="one_code_per_user_and_tablet"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("iterations__gte", 310000)),
                        name="code_is_derived_slowly",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="WorkingTime",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="working_times",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="working_times",
                        to="clinic.site",
                    ),
                ),
                (
                    "weekday",
                    models.PositiveSmallIntegerField(
                        choices=[
                            (1, "Monday"),
                            (2, "Tuesday"),
                            (3, "Wednesday"),
                            (4, "Thursday"),
                            (5, "Friday"),
                            (6, "Saturday"),
                            (7, "Sunday"),
                        ]
                    ),
                ),
                ("starts", models.TimeField(verbose_name="from")),
                ("ends", models.TimeField(verbose_name="to")),
                ("from_on", models.DateField(verbose_name="holds from")),
                ("until_on", models.DateField(blank=True, null=True, verbose_name="holds until")),
            ],
            options={
                "ordering": ["weekday", "starts", "id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("ends__gt", models.F("starts"))),
                        name="working_time_ends_after_start",
                        violation_error_message="It ends before it starts.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("until_on__isnull", True),
                            ("until_on__gte", models.F("from_on")),
                            _connector="OR",
                        ),
                        name="working_time_until_after_from",
                        violation_error_message="The last day lies before the first day.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("weekday__gte", 1), ("weekday__lte", 7)),
                        name="working_time_weekday_is_known",
                    ),
                ],
                "indexes": [
                    models.Index(fields=["weekday", "from_on"], name="working_time_by_weekday")
                ],
            },
        ),
        migrations.CreateModel(
            name="FridgeReading",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
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
            ],
            options={
                "ordering": ["-read_at", "-id"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("place", "read_at"),
                        name="reading_one_at_a_time",
                        violation_error_message="This fridge has a reading of this minute already.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("coldest__isnull", True),
                            ("coldest__lte", models.F("temperature")),
                            _connector="OR",
                        ),
                        name="reading_coldest_is_not_above",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("warmest__isnull", True),
                            ("warmest__gte", models.F("temperature")),
                            _connector="OR",
                        ),
                        name="reading_warmest_is_not_below",
                    ),
                    models.CheckConstraint(
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
                    models.CheckConstraint(
                        condition=models.Q(("highest__gt", models.F("lowest"))),
                        name="reading_has_a_range",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("temperature__lt", models.F("lowest")),
                                ("temperature__gt", models.F("highest")),
                                models.Q(
                                    ("coldest__isnull", False), ("coldest__lt", models.F("lowest"))
                                ),
                                models.Q(
                                    ("warmest__gt", models.F("highest")), ("warmest__isnull", False)
                                ),
                                _connector="OR",
                                _negated=True,
                            ),
                            models.Q(("done", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="reading_outside_says_what_was_done",
                        violation_error_message="Say what was done.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="ProtocolStep",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "protocol",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="steps",
                        to="clinic.protocol",
                    ),
                ),
                ("position", models.PositiveSmallIntegerField()),
                ("title", models.CharField(max_length=120)),
                ("text", models.TextField(blank=True, max_length=1000)),
                ("source", models.CharField(max_length=300)),
            ],
            options={
                "ordering": ["position"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("protocol", "position"), name="protocol_step_one_a_place"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("title", ""), _negated=True),
                            models.Q(("source", ""), _negated=True),
                        ),
                        name="protocol_step_says_what_and_whence",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Absence",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "person",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="absences",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "room",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="absences",
                        to="clinic.room",
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("leave", "Leave"),
                            ("sick", "Sick"),
                            ("training", "Training"),
                            ("break", "Break"),
                            ("out_of_order", "Out of order"),
                            ("other", "Other"),
                        ],
                        default="leave",
                        max_length=14,
                    ),
                ),
                ("starts_at", models.DateTimeField(verbose_name="from")),
                ("ends_at", models.DateTimeField(verbose_name="until")),
                (
                    "note",
                    models.CharField(
                        blank=True, help_text="Seen by the front desk.", max_length=200
                    ),
                ),
            ],
            options={
                "ordering": ["starts_at", "id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("ends_at__gt", models.F("starts_at"))),
                        name="absence_ends_after_start",
                        violation_error_message="It ends before it starts.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("person__isnull", True), ("room__isnull", False)),
                            models.Q(("person__isnull", False), ("room__isnull", True)),
                            _connector="OR",
                        ),
                        name="absence_of_a_person_or_a_room",
                    ),
                ],
                "indexes": [models.Index(fields=["ends_at", "starts_at"], name="absence_by_end")],
            },
        ),
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
                ("started_at", models.DateTimeField()),
                (
                    "started_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("posted_at", models.DateTimeField(null=True)),
                (
                    "posted_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("given_up_at", models.DateTimeField(null=True)),
                (
                    "given_up_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("give_up_reason", models.CharField(blank=True, max_length=300)),
            ],
            options={
                "ordering": ["-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("place__isnull", False), ("scope", "place")),
                            models.Q(
                                ("scope__in", ["nowhere", "everything"]), ("place__isnull", True)
                            ),
                            _connector="OR",
                        ),
                        name="count_place_as_its_scope_says",
                        violation_error_message="Choose the place that is counted.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("posted_at__isnull", True), ("posted_by__isnull", True)),
                            models.Q(("posted_at__isnull", False), ("posted_by__isnull", False)),
                            _connector="OR",
                        ),
                        name="count_posted_by_somebody",
                    ),
                    models.CheckConstraint(
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
                    models.CheckConstraint(
                        condition=models.Q(
                            ("posted_at__isnull", True),
                            ("given_up_at__isnull", True),
                            _connector="OR",
                        ),
                        name="count_ends_once",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(
                            ("given_up_at__isnull", True),
                            ("posted_at__isnull", True),
                            ("place__isnull", False),
                        ),
                        fields=("place",),
                        name="count_one_at_a_time_of_a_place",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(
                            ("given_up_at__isnull", True),
                            ("posted_at__isnull", True),
                            ("place__isnull", True),
                        ),
                        fields=("scope",),
                        name="count_one_at_a_time_without_a_place",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="UnitOfStock",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("label", models.CharField(editable=False, max_length=12, unique=True)),
                (
                    "lot",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="units",
                        to="clinic.lot",
                    ),
                ),
                ("serial", models.CharField(blank=True, max_length=20)),
                ("content", models.PositiveBigIntegerField()),
                (
                    "place",
                    models.ForeignKey(
                        editable=False,
                        help_text="Where it was put last; empty when nobody said.",
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="units",
                        to="clinic.place",
                    ),
                ),
                ("drawn", models.PositiveBigIntegerField(default=0, editable=False)),
                ("wasted", models.PositiveBigIntegerField(default=0, editable=False)),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("in_stock", "In stock"),
                            ("opened", "Opened"),
                            ("returned", "Returned to supplier"),
                            ("written_off", "Written off"),
                            ("missing", "Missing at count"),
                        ],
                        default=clinic.stock.enums.UnitState["IN_STOCK"],
                        editable=False,
                        max_length=12,
                    ),
                ),
                ("quarantined_at", models.DateTimeField(editable=False, null=True)),
                ("quarantine_reason", models.CharField(blank=True, editable=False, max_length=300)),
            ],
            options={
                "ordering": ["id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "content__gte",
                                django.db.models.expressions.CombinedExpression(
                                    models.F("drawn"), "+", models.F("wasted")
                                ),
                            )
                        ),
                        name="unit_never_overdrawn",
                        violation_error_message="More was drawn and wasted than the unit holds.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("drawn__gte", 0), ("wasted__gte", 0)),
                        name="unit_amounts_not_negative",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "state__in",
                                ["in_stock", "opened", "returned", "written_off", "missing"],
                            )
                        ),
                        name="unit_state_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("state", clinic.stock.enums.UnitState["IN_STOCK"]), _negated=True
                            ),
                            models.Q(("drawn", 0), ("wasted", 0)),
                            _connector="OR",
                        ),
                        name="unit_in_stock_is_full",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("serial", ""), _negated=True),
                        fields=("lot", "serial"),
                        name="unit_serial_once_per_lot",
                        violation_error_message="A unit of this lot with this serial number is in the books already.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("quarantine_reason", ""), ("quarantined_at__isnull", True)),
                            models.Q(
                                ("quarantined_at__isnull", False),
                                models.Q(("quarantine_reason", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="unit_quarantine_has_a_reason",
                    ),
                ],
                "indexes": [models.Index(fields=["state", "lot"], name="unit_by_state")],
            },
        ),
        migrations.CreateModel(
            name="VisitKind",
            fields=[
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("consultation", "Consultation"),
                            ("treatment", "Treatment"),
                            ("review", "Review"),
                            ("top_up", "Top-up"),
                            ("complication_check", "Complication check"),
                            ("call", "Call"),
                        ],
                        max_length=20,
                        primary_key=True,
                        serialize=False,
                    ),
                ),
                (
                    "minutes",
                    models.PositiveSmallIntegerField(
                        validators=[
                            django.core.validators.MinValueValidator(5),
                            django.core.validators.MaxValueValidator(480),
                        ],
                        verbose_name="length",
                    ),
                ),
                (
                    "preparation_minutes",
                    models.PositiveSmallIntegerField(
                        default=0,
                        validators=[django.core.validators.MaxValueValidator(120)],
                        verbose_name="preparation before",
                    ),
                ),
                (
                    "buffer_minutes",
                    models.PositiveSmallIntegerField(
                        default=0,
                        validators=[django.core.validators.MaxValueValidator(120)],
                        verbose_name="buffer after",
                    ),
                ),
                ("is_active", models.BooleanField(default=True, verbose_name="offered")),
                (
                    "rooms",
                    models.ManyToManyField(
                        blank=True,
                        help_text="None: it needs no room.",
                        related_name="visit_kinds",
                        to="clinic.room",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "kind__in",
                                [
                                    "consultation",
                                    "treatment",
                                    "review",
                                    "top_up",
                                    "complication_check",
                                    "call",
                                ],
                            )
                        ),
                        name="visit_kind_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("minutes__gte", 5),
                            ("minutes__lte", 480),
                            (
                                "minutes",
                                django.db.models.expressions.CombinedExpression(
                                    django.db.models.expressions.CombinedExpression(
                                        models.F("minutes"), "/", models.Value(5)
                                    ),
                                    "*",
                                    models.Value(5),
                                ),
                            ),
                            (
                                "preparation_minutes",
                                django.db.models.expressions.CombinedExpression(
                                    django.db.models.expressions.CombinedExpression(
                                        models.F("preparation_minutes"), "/", models.Value(5)
                                    ),
                                    "*",
                                    models.Value(5),
                                ),
                            ),
                            (
                                "buffer_minutes",
                                django.db.models.expressions.CombinedExpression(
                                    django.db.models.expressions.CombinedExpression(
                                        models.F("buffer_minutes"), "/", models.Value(5)
                                    ),
                                    "*",
                                    models.Value(5),
                                ),
                            ),
                        ),
                        name="visit_kind_in_whole_steps",
                        violation_error_message="Give lengths in steps of 5 minutes.",
                    ),
                ],
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
            ],
            options={
                "ordering": ["-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("decision", ""), _negated=True),
                        name="excursion_review_says_something",
                    )
                ],
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
                (
                    "count",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="extras",
                        to="clinic.stockcount",
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
            ],
            options={
                "ordering": ["id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("product__isnull", False),
                            models.Q(("gtin", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="counted_extra_is_something",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("quantity__gte", 1), ("quantity__lte", 500)),
                        name="counted_extra_quantity",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("serial", ""), ("quantity", 1), _connector="OR"),
                        name="counted_extra_serial_is_of_one",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("product__isnull", False)),
                        fields=("count", "product", "number", "serial"),
                        name="counted_extra_once_per_lot",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("product__isnull", True)),
                        fields=("count", "gtin", "number", "serial"),
                        name="counted_extra_once_per_gtin",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="StockMovement",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "unit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="movements",
                        to="clinic.unitofstock",
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("received", "Received"),
                            ("opened", "Opened"),
                            ("put_back", "Put back unopened"),
                            ("drawn", "Drawn"),
                            ("undrawn", "Draw taken back"),
                            ("wasted", "Wasted"),
                            ("kept", "Kept for the same patient"),
                            ("returned", "Returned to supplier"),
                            ("written_off", "Written off"),
                            ("moved", "Moved"),
                            ("missing", "Missing at count"),
                            ("found", "Found at count"),
                        ],
                        max_length=12,
                    ),
                ),
                (
                    "amount",
                    models.PositiveBigIntegerField(
                        help_text="What the movement concerns, in base units."
                    ),
                ),
                (
                    "place",
                    models.ForeignKey(
                        help_text="Where the unit was put by it.",
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="clinic.place",
                    ),
                ),
                ("reason", models.CharField(blank=True, max_length=300)),
                (
                    "witness",
                    models.CharField(
                        blank=True, help_text="Who saw it returned or destroyed.", max_length=200
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
            ],
            options={
                "ordering": ["id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "kind__in",
                                [
                                    "received",
                                    "opened",
                                    "put_back",
                                    "drawn",
                                    "undrawn",
                                    "wasted",
                                    "kept",
                                    "returned",
                                    "written_off",
                                    "moved",
                                    "missing",
                                    "found",
                                ],
                            )
                        ),
                        name="movement_kind_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                (
                                    "kind__in",
                                    ["wasted", "returned", "written_off", "missing", "found"],
                                ),
                                _negated=True,
                            ),
                            models.Q(("reason", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="movement_loss_has_a_reason",
                        violation_error_message="Say why.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("kind", "moved"), _negated=True),
                            ("place__isnull", False),
                            _connector="OR",
                        ),
                        name="movement_moved_somewhere",
                        violation_error_message="Say where it was moved to.",
                    ),
                ],
                "indexes": [
                    models.Index(
                        condition=models.Q(("kind__in", ["drawn", "undrawn"]), _negated=True),
                        fields=["-id"],
                        name="movement_at_the_shelf",
                    ),
                    models.Index(fields=["kind", "at"], name="movement_by_kind"),
                ],
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
                    "count",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="seen",
                        to="clinic.stockcount",
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
            ],
            options={
                "ordering": ["id"],
                "constraints": [
                    models.UniqueConstraint(fields=("count", "unit"), name="counted_unit_once"),
                    models.CheckConstraint(
                        condition=models.Q(("way__in", ["scanned", "typed", "ticked"])),
                        name="counted_unit_way_is_known",
                    ),
                ],
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
                (
                    "count",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="differences",
                        to="clinic.stockcount",
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
                    "movement",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="clinic.stockmovement",
                    ),
                ),
                ("explanation", models.CharField(max_length=300)),
            ],
            options={
                "ordering": ["id"],
                "constraints": [
                    models.UniqueConstraint(fields=("count", "unit"), name="count_difference_once"),
                    models.CheckConstraint(
                        condition=models.Q(("explanation", ""), _negated=True),
                        name="count_difference_is_explained",
                    ),
                ],
            },
        ),
    ]
