"""
All up to here in one step, for a database without tables; one that has them goes the old way.

Each table is made whole, in an order in which it finds those it names: adding its constraints one
after the other took three times as long.
"""

import uuid

import django.core.validators
import django.db.models.deletion
import django.db.models.expressions
import django.db.models.functions.text
from django.conf import settings
from django.db import migrations, models

import clinic.database.fields
import clinic.pictures.storage
import clinic.policy.validators
import planning.vocabulary
import planning.waiting
import records.adverse_events.enums
import records.appointments.enums
import records.mailings.enums
import records.patients.enums
import records.plans.enums
import records.recalls.enums
import records.reminders.enums
import records.reviews.enums
import records.waiting_list.enums
import records.waiting_list.models


class Migration(migrations.Migration):
    initial = True

    replaces = [
        ("records", "0001_initial"),
        ("records", "0002_charting"),
        ("records", "0003_picture_sent_and_pupils"),
        ("records", "0004_scale_has_its_distance"),
        ("records", "0005_session_set_aside"),
        ("records", "0006_recalls"),
        ("records", "0007_draws_of_before"),
        ("records", "0008_diluent_by_name"),
        ("records", "0009_recall_cases_at_work"),
        ("records", "0010_mailing_left_out"),
        ("records", "0011_plans"),
        ("records", "0012_assessments"),
        ("records", "0013_anaesthesia_and_care_elsewhere"),
        ("records", "0014_review_windows"),
        ("records", "0015_review_dates_of_before"),
        ("records", "0016_plan_summary_total"),
        ("records", "0017_plan_stage_given_back"),
        ("records", "0018_review_words_of_any_length"),
        ("records", "0019_flags_as_signed"),
        ("records", "0020_visits_of_the_diary"),
        ("records", "0021_times_held_of_before"),
        ("records", "0022_asked_at_booking"),
        ("records", "0023_contact_attempts"),
        ("records", "0024_calendars_of_others"),
        ("records", "0025_messages_and_answers"),
        ("records", "0026_waiting_list"),
        ("records", "0027_quiet_hours_of_before"),
        ("records", "0028_one_place_of_quiet_hours"),
        ("records", "0029_stops_and_time_outs"),
        ("records", "0030_aftercare_and_suspects"),
        ("records", "0031_medical_histories"),
        ("records", "0032_photographs"),
        ("records", "0033_consents"),
        ("records", "0034_review_records"),
        ("records", "0035_occlusion_log"),
        ("records", "0036_own_answers"),
        ("records", "0037_whole_records"),
        ("records", "0038_comparisons"),
    ]

    dependencies = [
        ("clinic", "0025_protocol_for_a_blocked_vessel"),
        ("clinic", "__first__"),
    ]

    operations = [
        migrations.CreateModel(
            name="ConsentText",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("toxin", "Toxin"),
                            ("filler", "Filler"),
                            ("hyaluronidase", "Hyaluronidase, elective"),
                            ("photographs", "Photographs for the record"),
                            ("teaching", "Photographs for teaching"),
                        ],
                        max_length=20,
                    ),
                ),
                ("version", models.PositiveSmallIntegerField()),
                ("title", models.CharField(max_length=200)),
                ("body", models.TextField(verbose_name="what the patient is told")),
                (
                    "valid_days",
                    models.PositiveSmallIntegerField(
                        validators=[
                            django.core.validators.MinValueValidator(1),
                            django.core.validators.MaxValueValidator(3650),
                        ],
                        verbose_name="holds for",
                    ),
                ),
                ("written_at", models.DateTimeField()),
                (
                    "written_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["kind", "-version"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("kind", "version"), name="consent_text_version_once"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "kind__in",
                                ["toxin", "filler", "hyaluronidase", "photographs", "teaching"],
                            )
                        ),
                        name="consent_text_kind_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("version__gte", 1)),
                        name="consent_text_version_counts_from_one",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("valid_days__range", (1, 3650))),
                        name="consent_text_holds_for_days",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Mailing",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "channel",
                    models.CharField(
                        choices=[("letter", "Letters"), ("email", "E-mails")], max_length=10
                    ),
                ),
                ("purpose", models.CharField(max_length=200)),
                ("subject", models.CharField(max_length=200)),
                ("body", models.TextField()),
                ("is_rehearsal", models.BooleanField(default=False)),
                ("started_at", models.DateTimeField()),
                (
                    "started_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("finished_at", models.DateTimeField(editable=False, null=True)),
            ],
            options={
                "ordering": ["-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("channel__in", ["letter", "email"])),
                        name="mailing_channel_is_known",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="MailTemplate",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("name", models.CharField(max_length=100, unique=True)),
                (
                    "subject",
                    models.CharField(
                        help_text="Of an e-mail too, so nothing about a person or a product.",
                        max_length=200,
                    ),
                ),
                ("body", models.TextField()),
                ("is_active", models.BooleanField(default=True, verbose_name="in use")),
            ],
            options={
                "ordering": ["name"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("subject", ""), _negated=True),
                            models.Q(("body", ""), _negated=True),
                        ),
                        name="mail_template_says_something",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="MessageTemplate",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("confirmation", "Confirmation"),
                            ("reminder", "Reminder"),
                            ("changed", "New time"),
                            ("cancelled", "Cancellation"),
                            ("review", "Review invitation"),
                            ("offer", "Offer of a free time"),
                            ("aftercare", "Aftercare sheet"),
                            ("check_in", "Question of the day after"),
                            ("questions", "Questions before a visit"),
                        ],
                        max_length=14,
                    ),
                ),
                (
                    "route",
                    models.CharField(
                        choices=[("email", "E-mail"), ("sms", "Text message"), ("call", "Call")],
                        max_length=5,
                    ),
                ),
                ("subject", models.CharField(blank=True, max_length=120)),
                ("text", models.TextField(max_length=2000)),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("kind", "route"), name="message_template_once"),
                    models.CheckConstraint(
                        condition=models.Q(("text", ""), _negated=True),
                        name="message_template_says_something",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Patient",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("record_number", models.CharField(editable=False, max_length=12, unique=True)),
                (
                    "full_name",
                    models.CharField(
                        help_text="As the patient writes it.", max_length=200, verbose_name="name"
                    ),
                ),
                ("known_as", models.CharField(blank=True, max_length=100)),
                ("birth_date", models.DateField(verbose_name="date of birth")),
                (
                    "sex",
                    models.CharField(
                        choices=[
                            ("female", "Female"),
                            ("male", "Male"),
                            ("other", "Other"),
                            ("not_stated", "Not stated"),
                        ],
                        default=records.patients.enums.Sex["NOT_STATED"],
                        max_length=12,
                    ),
                ),
                ("phone", models.CharField(blank=True, max_length=40)),
                (
                    "phone_tail",
                    clinic.database.fields.FoldedField(blank=True, editable=False, max_length=9),
                ),
                ("email", models.EmailField(blank=True, max_length=254, verbose_name="e-mail")),
                ("address", models.TextField(blank=True)),
                (
                    "preferred_channel",
                    models.CharField(
                        choices=[
                            ("phone", "Phone"),
                            ("sms", "Text message"),
                            ("email", "E-mail"),
                            ("letter", "Letter"),
                        ],
                        default=records.patients.enums.Channel["PHONE"],
                        max_length=10,
                    ),
                ),
                ("agrees_to_email", models.BooleanField(default=False, verbose_name="e-mail")),
                ("agrees_to_sms", models.BooleanField(default=False, verbose_name="text message")),
                (
                    "weight_g",
                    models.PositiveIntegerField(
                        blank=True,
                        help_text="Grams; needed by limits per body weight.",
                        null=True,
                        verbose_name="weight",
                    ),
                ),
                ("created_at", models.DateTimeField(auto_now_add=True)),
            ],
            options={
                "ordering": ["full_name", "id"],
                "indexes": [
                    models.Index(fields=["birth_date"], name="patient_by_birth_date"),
                    models.Index(
                        condition=models.Q(("phone_tail", ""), _negated=True),
                        fields=["phone_tail"],
                        name="patient_by_phone_tail",
                    ),
                    models.Index(
                        django.db.models.functions.text.Lower("email"),
                        condition=models.Q(("email", ""), _negated=True),
                        name="patient_by_email",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="PlanTemplate",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "name",
                    models.CharField(
                        error_messages={
                            "unique": "A template of this name exists already. Name what differs."
                        },
                        max_length=120,
                        unique=True,
                        verbose_name="what it treats",
                    ),
                ),
                ("is_active", models.BooleanField(default=True, verbose_name="offered")),
                ("saved_at", models.DateTimeField()),
                (
                    "saved_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["name"],
            },
        ),
        migrations.CreateModel(
            name="Questionnaire",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("version", models.PositiveIntegerField(unique=True)),
                (
                    "intro",
                    models.TextField(blank=True, max_length=1000, verbose_name="introduction"),
                ),
                ("made_at", models.DateTimeField()),
                (
                    "made_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("is_in_use", models.BooleanField(default=True, verbose_name="in use")),
            ],
            options={
                "ordering": ["-version"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("is_in_use", True)),
                        fields=("is_in_use",),
                        name="questionnaire_one_in_use",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="RecallCase",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("number", models.CharField(editable=False, max_length=12, unique=True)),
                ("is_drill", models.BooleanField(default=False, verbose_name="drill")),
                (
                    "reference",
                    models.CharField(
                        help_text="The maker's or regulator's number.", max_length=100
                    ),
                ),
                ("maker", models.CharField(max_length=200)),
                (
                    "recall_class",
                    models.CharField(
                        choices=[
                            ("1", "Class I"),
                            ("2", "Class II"),
                            ("3", "Class III"),
                            ("none", "Not stated"),
                        ],
                        default=records.recalls.enums.RecallClass["NOT_STATED"],
                        max_length=4,
                        verbose_name="class",
                    ),
                ),
                ("notice_on", models.DateField(verbose_name="date of the notice")),
                ("received_at", models.DateTimeField(verbose_name="notice received")),
                ("text", models.TextField(verbose_name="what the notice says")),
                (
                    "level",
                    models.CharField(default="A", max_length=1, verbose_name="effectiveness check"),
                ),
                ("level_percent", models.PositiveSmallIntegerField(blank=True, null=True)),
                (
                    "expected_end_on",
                    models.DateField(
                        blank=True,
                        help_text="When everybody will have been reached.",
                        null=True,
                        verbose_name="expected end",
                    ),
                ),
                ("opened_at", models.DateTimeField(editable=False)),
                (
                    "opened_by",
                    models.ForeignKey(
                        editable=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("quarantined_at", models.DateTimeField(editable=False, null=True)),
                ("list_at", models.DateTimeField(editable=False, null=True)),
                (
                    "list_by",
                    models.ForeignKey(
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("sampled_at", models.DateTimeField(editable=False, null=True)),
                ("closing_note", models.TextField(blank=True)),
                ("closed_at", models.DateTimeField(editable=False, null=True)),
                (
                    "closed_by",
                    models.ForeignKey(
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("closed_name", models.CharField(blank=True, editable=False, max_length=300)),
                ("closed_digest", models.CharField(blank=True, editable=False, max_length=64)),
            ],
            options={
                "ordering": ["-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("recall_class__in", ["1", "2", "3", "none"])),
                        name="recall_class_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("level__in", ["A", "C", "D", "E"]), ("level_percent__isnull", True)
                            ),
                            models.Q(
                                ("level", "B"),
                                ("level_percent__gt", 10),
                                ("level_percent__isnull", False),
                                ("level_percent__lt", 100),
                            ),
                            _connector="OR",
                        ),
                        name="recall_level_whole",
                        violation_error_message="Level B needs a percentage from 11 to 99.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("closed_at__isnull", True),
                                ("closed_by__isnull", True),
                                ("closed_digest", ""),
                            ),
                            models.Q(
                                ("closed_at__isnull", False),
                                ("closed_by__isnull", False),
                                models.Q(("closed_digest", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="recall_closed_by_somebody",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("list_at__isnull", True), ("list_by__isnull", False), _connector="OR"
                        ),
                        name="recall_list_by_somebody",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("opened_at__gte", models.F("received_at"))),
                        name="recall_received_before_opened",
                        violation_error_message="The notice cannot have come after the case was opened.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("is_drill", False), ("quarantined_at__isnull", True), _connector="OR"
                        ),
                        name="recall_drill_stops_nothing",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="ReminderPolicy",
            fields=[
                (
                    "id",
                    models.PositiveSmallIntegerField(
                        default=1, editable=False, primary_key=True, serialize=False
                    ),
                ),
                ("is_on", models.BooleanField(default=False, verbose_name="send messages")),
                (
                    "confirms",
                    models.BooleanField(
                        default=True, verbose_name="confirm bookings, changes and cancellations"
                    ),
                ),
                (
                    "reminds",
                    models.BooleanField(default=True, verbose_name="remind of visits to come"),
                ),
                (
                    "hours_before",
                    models.PositiveSmallIntegerField(
                        default=24,
                        validators=[
                            django.core.validators.MinValueValidator(1),
                            django.core.validators.MaxValueValidator(336),
                        ],
                        verbose_name="remind so long before",
                    ),
                ),
                (
                    "checks_in",
                    models.BooleanField(
                        default=False,
                        verbose_name="ask the day after a treatment how the patient is",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("id", 1)), name="reminder_policy_is_one_row"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="ScreeningRule",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "question_code",
                    models.CharField(
                        max_length=40,
                        validators=[
                            django.core.validators.RegexValidator(
                                "\\A[a-z0-9]+(-[a-z0-9]+)*\\Z",
                                "Small letters, digits and single hyphens, such as blood-thinner.",
                            )
                        ],
                        verbose_name="question",
                    ),
                ),
                (
                    "answer",
                    models.CharField(
                        choices=[("yes", "Yes"), ("no", "No"), ("written", "Something written")],
                        max_length=8,
                        verbose_name="when the answer is",
                    ),
                ),
                (
                    "level",
                    models.CharField(
                        choices=[
                            ("stop", "Stop and ask"),
                            ("caution", "Caution"),
                            ("note", "Note"),
                        ],
                        max_length=10,
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("allergy", "Allergy"),
                            ("medical", "Medical"),
                            ("account", "Account"),
                            ("other", "Other"),
                            ("none_known", "No known allergies"),
                        ],
                        max_length=10,
                        verbose_name="kind of alert",
                    ),
                ),
                ("alert_text", models.CharField(max_length=200, verbose_name="alert")),
                (
                    "backing",
                    models.CharField(
                        choices=[
                            ("clinic_policy", "Clinic policy"),
                            ("published", "Published source"),
                            ("common_practice", "Common practice, no source"),
                            ("second_hand", "Read second-hand, not in the document itself"),
                            ("memory", "From memory, not checked"),
                        ],
                        max_length=20,
                        verbose_name="known from",
                    ),
                ),
                (
                    "source",
                    models.CharField(blank=True, max_length=200, verbose_name="which source"),
                ),
                ("is_active", models.BooleanField(default=True, verbose_name="in use")),
            ],
            options={
                "ordering": ["id"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("question_code", "answer"),
                        name="screening_rule_once",
                        violation_error_message="This answer has a rule already. Change that one.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("alert_text", ""), _negated=True),
                        name="screening_rule_says_something",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("backing__in", ["published", "second_hand"]), _negated=True),
                            models.Q(("source", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="screening_rule_says_where",
                        violation_error_message="Name the publication: authors or title, year.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("level__in", ["stop", "caution", "note"])),
                        name="screening_rule_level_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("kind__in", ["allergy", "medical", "other"])),
                        name="screening_rule_kind_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("answer__in", ["yes", "no", "written"])),
                        name="screening_rule_answer_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "backing__in",
                                [
                                    "clinic_policy",
                                    "published",
                                    "common_practice",
                                    "second_hand",
                                    "memory",
                                ],
                            )
                        ),
                        name="screening_rule_backing_is_known",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="AftercareText",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("filler", "Filler"),
                            ("toxin", "Toxin"),
                            ("dissolving", "Dissolving filler"),
                        ],
                        max_length=10,
                    ),
                ),
                ("version", models.PositiveSmallIntegerField()),
                ("advice", models.TextField(max_length=4000, verbose_name="What to do")),
                ("signs", models.TextField(max_length=2000, verbose_name="Call us at once with")),
                ("written_at", models.DateTimeField()),
                (
                    "written_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["kind", "-version"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("kind", "version"), name="aftercare_text_version_once"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("kind__in", ["filler", "toxin", "dissolving"])),
                        name="aftercare_text_kind_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("advice", ""), _negated=True),
                            models.Q(("signs", ""), _negated=True),
                            ("version__gt", 0),
                        ),
                        name="aftercare_text_says_something",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="CalendarFeed",
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
                        related_name="calendar_feeds",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("secret_digest", models.CharField(max_length=64, unique=True)),
                ("made_at", models.DateTimeField()),
                (
                    "made_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("revoked_at", models.DateTimeField(null=True)),
                (
                    "revoked_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("fetched_at", models.DateTimeField(null=True)),
                ("content_digest", models.CharField(blank=True, max_length=64)),
                ("content_since", models.DateTimeField(null=True)),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("revoked_at__isnull", True)),
                        fields=("person",),
                        name="calendar_feed_one_a_person",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("revoked_by__isnull", True),
                            ("revoked_at__isnull", False),
                            _connector="OR",
                        ),
                        name="calendar_feed_revoked_at_a_time",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="ChosenSeries",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
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
                        unique=True,
                    ),
                ),
                (
                    "shots",
                    models.JSONField(
                        help_text="Keys of `planning.standard_views.Shot`, in their order."
                    ),
                ),
                ("changed_at", models.DateTimeField()),
                (
                    "changed_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
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
                                    "ha_filler",
                                    "other_filler",
                                    "toxin",
                                    "hyaluronidase",
                                    "anaesthetic",
                                    "emergency",
                                ],
                            )
                        ),
                        name="chosen_series_kind_is_known",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Question",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "questionnaire",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="questions",
                        to="records.questionnaire",
                    ),
                ),
                (
                    "code",
                    models.CharField(
                        max_length=40,
                        validators=[
                            django.core.validators.RegexValidator(
                                "\\A[a-z0-9]+(-[a-z0-9]+)*\\Z",
                                "Small letters, digits and single hyphens, such as blood-thinner.",
                            )
                        ],
                    ),
                ),
                ("position", models.PositiveSmallIntegerField()),
                (
                    "section",
                    models.CharField(help_text="The heading it stands under.", max_length=80),
                ),
                ("words", models.CharField(max_length=300, verbose_name="question")),
                ("help", models.CharField(blank=True, max_length=300, verbose_name="explanation")),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("yes_no", "Yes or no"),
                            ("detail", "Yes or no, with words"),
                            ("text", "Words"),
                        ],
                        max_length=10,
                        verbose_name="answered by",
                    ),
                ),
            ],
            options={
                "ordering": ["position"],
                "constraints": [
                    models.UniqueConstraint(fields=("questionnaire", "code"), name="question_once"),
                    models.UniqueConstraint(
                        fields=("questionnaire", "position"), name="question_place"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("words", ""), _negated=True),
                        name="question_asks_something",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("kind__in", ["yes_no", "detail", "text"])),
                        name="question_kind_is_known",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Appointment",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "patient",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="appointments",
                        to="records.patient",
                    ),
                ),
                (
                    "practitioner",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="appointments",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="appointments",
                        to="clinic.site",
                    ),
                ),
                (
                    "room",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="appointments",
                        to="clinic.room",
                    ),
                ),
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
                    ),
                ),
                ("starts_at", models.DateTimeField(verbose_name="start")),
                (
                    "minutes",
                    models.PositiveSmallIntegerField(
                        default=30,
                        validators=[
                            django.core.validators.MinValueValidator(5),
                            django.core.validators.MaxValueValidator(480),
                        ],
                    ),
                ),
                (
                    "preparation_minutes",
                    models.PositiveSmallIntegerField(default=0, editable=False),
                ),
                ("buffer_minutes", models.PositiveSmallIntegerField(default=0, editable=False)),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("offered", "Offered"),
                            ("booked", "Booked"),
                            ("arrived", "Arrived"),
                            ("in_room", "In the room"),
                            ("done", "Done"),
                            ("cancelled", "Cancelled"),
                            ("did_not_attend", "Did not attend"),
                        ],
                        default=records.appointments.enums.AppointmentState["BOOKED"],
                        editable=False,
                        max_length=14,
                    ),
                ),
                (
                    "note",
                    models.CharField(blank=True, help_text="Nothing clinical.", max_length=200),
                ),
                ("cancel_reason", models.CharField(blank=True, editable=False, max_length=200)),
                ("series", models.UUIDField(editable=False, null=True)),
                ("late_minutes", models.PositiveSmallIntegerField(default=0, editable=False)),
                ("held_until", models.DateTimeField(editable=False, null=True)),
                ("changed_at", models.DateTimeField(auto_now=True)),
            ],
            options={
                "ordering": ["starts_at", "id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("minutes__gt", 0)), name="appointment_takes_time"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("minutes__lte", 480)),
                        name="appointment_ends_within_a_day",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
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
                            ("preparation_minutes__lte", 120),
                            ("buffer_minutes__lte", 120),
                        ),
                        name="appointment_buffers_in_steps",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("held_until__isnull", False),
                                ("state", records.appointments.enums.AppointmentState["OFFERED"]),
                            ),
                            models.Q(
                                models.Q(
                                    (
                                        "state",
                                        records.appointments.enums.AppointmentState["OFFERED"],
                                    ),
                                    _negated=True,
                                ),
                                ("held_until__isnull", True),
                            ),
                            _connector="OR",
                        ),
                        name="appointment_offered_until",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("state", records.appointments.enums.AppointmentState["CANCELLED"]),
                                _negated=True,
                            ),
                            models.Q(("cancel_reason", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="appointment_cancelled_with_reason",
                        violation_error_message="Say why the appointment is cancelled.",
                    ),
                ],
                "indexes": [
                    models.Index(
                        fields=["practitioner", "starts_at"], name="appointment_by_practitioner"
                    ),
                    models.Index(fields=["starts_at"], name="appointment_by_start"),
                    models.Index(
                        condition=models.Q(("series__isnull", False)),
                        fields=["series"],
                        name="appointment_by_series",
                    ),
                    models.Index(
                        condition=models.Q(("held_until__isnull", False)),
                        fields=["held_until"],
                        name="appointment_offers",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Assessment",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                (
                    "patient",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="assessments",
                        to="records.patient",
                    ),
                ),
                ("made_at", models.DateTimeField(editable=False)),
                (
                    "made_by",
                    models.ForeignKey(
                        editable=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("note", models.TextField(blank=True)),
                ("region_count", models.PositiveSmallIntegerField(default=0, editable=False)),
            ],
            options={
                "ordering": ["-made_at", "-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("region_count__gt", 0),
                            models.Q(("note", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="assessment_says_something",
                    )
                ],
                "indexes": [
                    models.Index(fields=["patient", "-made_at"], name="assessment_of_patient")
                ],
            },
        ),
        migrations.CreateModel(
            name="ConsentRisk",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "text",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="risks",
                        to="records.consenttext",
                    ),
                ),
                ("position", models.PositiveSmallIntegerField()),
                ("words", models.CharField(max_length=500)),
                ("source", models.CharField(blank=True, max_length=300)),
            ],
            options={
                "ordering": ["text", "position"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("text", "position"), name="consent_risk_place_once"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Consent",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "patient",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="consents",
                        to="records.patient",
                    ),
                ),
                (
                    "text",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="answers",
                        to="records.consenttext",
                    ),
                ),
                (
                    "outcome",
                    models.CharField(
                        choices=[
                            ("given", "Consent given"),
                            ("refused", "The patient refused"),
                            ("declined", "The clinic declined to treat"),
                        ],
                        max_length=10,
                    ),
                ),
                ("reason", models.CharField(blank=True, max_length=300)),
                ("discussed_at", models.DateTimeField()),
                ("questions", models.TextField(blank=True, verbose_name="questions and answers")),
                ("told_alternatives", models.BooleanField()),
                ("told_costs", models.BooleanField()),
                ("has_capacity", models.BooleanField(null=True)),
                (
                    "capacity_note",
                    models.CharField(
                        blank=True, max_length=300, verbose_name="how capacity was assessed"
                    ),
                ),
                ("signed_name", models.CharField(blank=True, max_length=200)),
                ("signature", models.TextField(blank=True)),
                (
                    "unsigned_reason",
                    models.CharField(blank=True, max_length=300, verbose_name="why nobody signed"),
                ),
                ("witness_name", models.CharField(blank=True, max_length=200)),
                ("witness_signature", models.TextField(blank=True)),
                (
                    "taken_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("given_at", models.DateTimeField()),
                ("valid_until", models.DateField(null=True)),
                ("not_before", models.DateTimeField(null=True)),
                ("not_before_day", models.DateField(null=True)),
                ("withdrawn_at", models.DateTimeField(editable=False, null=True)),
                (
                    "withdrawn_by",
                    models.ForeignKey(
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("withdrawal_reason", models.CharField(blank=True, editable=False, max_length=300)),
            ],
            options={
                "ordering": ["-given_at", "-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("outcome__in", ["given", "refused", "declined"])),
                        name="consent_outcome_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("outcome", "given"), _negated=True),
                            models.Q(
                                ("has_capacity", True),
                                ("has_capacity__isnull", False),
                                ("told_alternatives", True),
                                ("told_costs", True),
                                ("valid_until__isnull", False),
                            ),
                            _connector="OR",
                        ),
                        name="consent_given_is_informed",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("outcome", "given"), _negated=True),
                            models.Q(
                                models.Q(
                                    models.Q(("signature", ""), _negated=True),
                                    models.Q(
                                        models.Q(("unsigned_reason", ""), _negated=True),
                                        models.Q(("witness_name", ""), _negated=True),
                                    ),
                                    _connector="OR",
                                ),
                                models.Q(("signed_name", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="consent_given_is_signed_or_witnessed",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("outcome", "given"),
                            models.Q(
                                models.Q(("reason", ""), _negated=True),
                                ("valid_until__isnull", True),
                                ("withdrawn_at__isnull", True),
                            ),
                            _connector="OR",
                        ),
                        name="consent_not_given_has_its_reason",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("not_before__isnull", True), ("not_before_day__isnull", True)
                            ),
                            models.Q(
                                ("not_before__isnull", False), ("not_before_day__isnull", False)
                            ),
                            _connector="OR",
                        ),
                        name="consent_cooling_off_in_both_readings",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("discussed_at__lte", models.F("given_at"))),
                        name="consent_after_the_talk",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("witness_signature", ""),
                            models.Q(("witness_name", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="consent_witness_has_a_name",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("withdrawal_reason", ""),
                                ("withdrawn_at__isnull", True),
                                ("withdrawn_by__isnull", True),
                            ),
                            models.Q(
                                ("withdrawn_at__isnull", False),
                                ("withdrawn_by__isnull", False),
                                models.Q(("withdrawal_reason", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="consent_withdrawn_by_somebody_with_a_reason",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="HistoryForm",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "patient",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="histories",
                        to="records.patient",
                    ),
                ),
                (
                    "questionnaire",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="records.questionnaire",
                    ),
                ),
                (
                    "way",
                    models.CharField(
                        choices=[
                            ("tablet", "On the clinic’s tablet"),
                            ("link", "By a link"),
                            ("staff", "Read out by staff"),
                        ],
                        max_length=6,
                    ),
                ),
                ("begun_at", models.DateTimeField()),
                (
                    "begun_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("answered_at", models.DateTimeField(null=True)),
                ("withdrawn_at", models.DateTimeField(null=True)),
            ],
            options={
                "ordering": ["-begun_at", "-id"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("answered_at", None), ("withdrawn_at", None)),
                        fields=("patient",),
                        name="history_one_waits",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("answered_at", None), ("withdrawn_at", None), _connector="OR"
                        ),
                        name="history_sent_or_withdrawn",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("way__in", ["tablet", "link", "staff"])),
                        name="history_way_is_known",
                    ),
                ],
                "indexes": [
                    models.Index(fields=["patient", "-answered_at"], name="history_of_patient")
                ],
            },
        ),
        migrations.CreateModel(
            name="LetterBatch",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "mailing",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="batches",
                        to="records.mailing",
                    ),
                ),
                ("number", models.PositiveIntegerField()),
                ("letters", models.PositiveIntegerField()),
                ("pdf", models.BinaryField()),
                ("digest", models.CharField(max_length=64)),
                ("written_at", models.DateTimeField()),
            ],
            options={
                "ordering": ["number"],
                "constraints": [
                    models.UniqueConstraint(fields=("mailing", "number"), name="letter_batch_once")
                ],
            },
        ),
        migrations.CreateModel(
            name="MailingItem",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "mailing",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="items",
                        to="records.mailing",
                    ),
                ),
                (
                    "patient",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="records.patient",
                    ),
                ),
                ("words", models.JSONField(default=dict)),
                ("position", models.PositiveIntegerField()),
                ("batch", models.PositiveIntegerField(null=True)),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("waiting", "Waiting"),
                            ("sending", "Being sent"),
                            ("written", "Written"),
                            ("sent", "Sent"),
                            ("failed", "Failed"),
                            ("left_out", "Left out"),
                        ],
                        default=records.mailings.enums.MailingState["WAITING"],
                        max_length=10,
                    ),
                ),
                ("at", models.DateTimeField(null=True)),
                ("problem", models.CharField(blank=True, max_length=300)),
            ],
            options={
                "ordering": ["position"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("mailing", "patient"), name="mailing_once_a_patient"
                    ),
                    models.UniqueConstraint(
                        fields=("mailing", "position"), name="mailing_position_once"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "state__in",
                                ["waiting", "sending", "written", "sent", "failed", "left_out"],
                            )
                        ),
                        name="mailing_state_is_known",
                    ),
                ],
                "indexes": [
                    models.Index(
                        condition=models.Q(("state", "waiting")),
                        fields=["mailing", "position"],
                        name="mailing_waiting",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="ContactConsent",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "patient",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="contact_consents",
                        to="records.patient",
                    ),
                ),
                (
                    "channel",
                    models.CharField(
                        choices=[
                            ("phone", "Phone"),
                            ("sms", "Text message"),
                            ("email", "E-mail"),
                            ("letter", "Letter"),
                        ],
                        max_length=10,
                    ),
                ),
                ("agreed", models.BooleanField()),
                ("asked_at", models.DateTimeField()),
                (
                    "asked_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-asked_at", "-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("channel__in", ["email", "sms"])),
                        name="contact_consent_is_about_writing",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Alert",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "patient",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="alerts",
                        to="records.patient",
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("allergy", "Allergy"),
                            ("medical", "Medical"),
                            ("account", "Account"),
                            ("other", "Other"),
                            ("none_known", "No known allergies"),
                        ],
                        max_length=10,
                    ),
                ),
                (
                    "level",
                    models.CharField(
                        choices=[
                            ("stop", "Stop and ask"),
                            ("caution", "Caution"),
                            ("note", "Note"),
                        ],
                        max_length=10,
                    ),
                ),
                ("text", models.CharField(max_length=300)),
                ("added_at", models.DateTimeField(auto_now_add=True)),
                (
                    "added_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("ended_at", models.DateTimeField(editable=False, null=True)),
                (
                    "ended_by",
                    models.ForeignKey(
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("end_reason", models.CharField(blank=True, editable=False, max_length=300)),
            ],
            options={
                "ordering": ["id"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("ended_at__isnull", True), ("kind", "none_known")),
                        fields=("patient",),
                        name="alert_none_known_once",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="PatientWord",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "patient",
                    models.ForeignKey(
                        db_index=False,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="words",
                        to="records.patient",
                    ),
                ),
                ("word", clinic.database.fields.FoldedField(max_length=100)),
                ("name_key", clinic.database.fields.FoldedField(max_length=400)),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("patient", "word"), name="patient_word_once")
                ],
                "indexes": [
                    models.Index(fields=["word", "name_key", "patient"], name="patient_by_word")
                ],
            },
        ),
        migrations.CreateModel(
            name="Plan",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "patient",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="plans",
                        to="records.patient",
                    ),
                ),
                ("title", models.CharField(max_length=120, verbose_name="what it treats")),
                (
                    "note",
                    models.TextField(
                        blank=True, help_text="For the team; it is not printed for the patient."
                    ),
                ),
                (
                    "alternatives",
                    models.TextField(
                        blank=True,
                        help_text="What else was spoken of, one a line, printed for the patient. Having no treatment is always printed.",
                    ),
                ),
                ("made_at", models.DateTimeField()),
                (
                    "made_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("closed_at", models.DateTimeField(editable=False, null=True)),
                (
                    "closed_by",
                    models.ForeignKey(
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "end",
                    models.CharField(
                        blank=True,
                        choices=[("carried_out", "Carried out"), ("given_up", "Given up")],
                        editable=False,
                        max_length=12,
                    ),
                ),
                ("end_reason", models.CharField(blank=True, editable=False, max_length=300)),
            ],
            options={
                "ordering": ["-made_at", "-id"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("closed_at__isnull", True)),
                        fields=("patient",),
                        name="plan_one_open_per_patient",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("closed_at__isnull", True),
                                ("closed_by__isnull", True),
                                ("end", ""),
                            ),
                            models.Q(
                                ("closed_at__isnull", False),
                                ("closed_by__isnull", False),
                                ("end__in", ["carried_out", "given_up"]),
                            ),
                            _connector="OR",
                        ),
                        name="plan_closed_with_an_end",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("end", records.plans.enums.PlanEnd["GIVEN_UP"]), _negated=True
                            ),
                            models.Q(("end_reason", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="plan_given_up_with_reason",
                        violation_error_message="Say why the plan is given up.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="NoticeFile",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "case",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="files",
                        to="records.recallcase",
                    ),
                ),
                ("name", models.CharField(max_length=200)),
                ("content_type", models.CharField(max_length=100)),
                ("content", models.BinaryField()),
                ("digest", models.CharField(help_text="SHA-256 of the content.", max_length=64)),
                ("added_at", models.DateTimeField()),
                (
                    "added_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["id"],
            },
        ),
        migrations.CreateModel(
            name="CaseUnit",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "case",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="units",
                        to="records.recallcase",
                    ),
                ),
                (
                    "unit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="recalls",
                        to="clinic.unitofstock",
                    ),
                ),
                ("pulled_at", models.DateTimeField(null=True)),
                (
                    "pulled_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "not_found",
                    models.CharField(
                        blank=True,
                        help_text="Where it was looked for, if it was not there.",
                        max_length=300,
                    ),
                ),
                (
                    "movement",
                    models.OneToOneField(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="clinic.stockmovement",
                    ),
                ),
            ],
            options={
                "ordering": ["id"],
                "constraints": [
                    models.UniqueConstraint(fields=("case", "unit"), name="recall_unit_once"),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("pulled_at__isnull", True), ("pulled_by__isnull", True)),
                            models.Q(("pulled_at__isnull", False), ("pulled_by__isnull", False)),
                            _connector="OR",
                        ),
                        name="recall_unit_pulled_by_somebody",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("pulled_at__isnull", True), ("not_found", ""), _connector="OR"
                        ),
                        name="recall_unit_apart_or_not_found",
                        violation_error_message="A unit is set apart or was not there, not both.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("movement__isnull", True),
                            ("pulled_at__isnull", False),
                            _connector="OR",
                        ),
                        name="recall_unit_leaves_from_apart",
                        violation_error_message="Set the unit apart before it leaves.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="CaseSpan",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "case",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="spans",
                        to="records.recallcase",
                    ),
                ),
                (
                    "product",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
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
                (
                    "quarantine",
                    models.OneToOneField(
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="clinic.quarantine",
                    ),
                ),
            ],
            options={
                "ordering": ["id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("lot_first", ""), ("lot_last", "")),
                            models.Q(
                                models.Q(("lot_first", ""), _negated=True),
                                models.Q(("lot_last", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="recall_span_lots_whole",
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
                        name="recall_span_serials_whole",
                        violation_error_message="Give the first and the last serial number.",
                    ),
                    models.UniqueConstraint(
                        fields=(
                            "case",
                            "product",
                            "lot_first",
                            "lot_last",
                            "serial_first",
                            "serial_last",
                        ),
                        name="recall_span_once",
                        violation_error_message="The case names this already.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="CaseReport",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "case",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="report",
                        to="records.recallcase",
                    ),
                ),
                ("pdf", models.BinaryField()),
                ("digest", models.CharField(max_length=64)),
                ("made_at", models.DateTimeField()),
            ],
        ),
        migrations.CreateModel(
            name="CaseMailing",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "case",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="mailings",
                        to="records.recallcase",
                    ),
                ),
                (
                    "mailing",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="recall",
                        to="records.mailing",
                    ),
                ),
            ],
            options={
                "ordering": ["id"],
            },
        ),
        migrations.CreateModel(
            name="ReportedCare",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "patient",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="reported_care",
                        to="records.patient",
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("vaccine", "Vaccine"),
                            ("dental", "Dental work"),
                            ("skin", "Laser or peel"),
                            ("surgery", "Surgery"),
                            ("filler", "Filler elsewhere"),
                            ("toxin", "Toxin elsewhere"),
                        ],
                        max_length=10,
                    ),
                ),
                ("day", models.DateField(blank=True, null=True, verbose_name="when")),
                (
                    "precision",
                    models.CharField(
                        choices=[
                            ("day", "The day"),
                            ("month", "The month"),
                            ("year", "The year"),
                            ("unknown", "Not known"),
                        ],
                        default="day",
                        max_length=10,
                        verbose_name="known to",
                    ),
                ),
                (
                    "region",
                    models.CharField(
                        blank=True,
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
                    "family",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("ha", "Hyaluronic acid"),
                            ("other", "Another that is absorbed"),
                            ("permanent", "Permanent"),
                            ("unknown", "Not known"),
                        ],
                        max_length=10,
                        verbose_name="made of",
                    ),
                ),
                (
                    "centiunits",
                    models.PositiveIntegerField(
                        blank=True,
                        help_text="Hundredths of a unit, of a toxin.",
                        null=True,
                        verbose_name="units",
                    ),
                ),
                ("note", models.CharField(blank=True, max_length=300)),
                ("reported_at", models.DateTimeField()),
                (
                    "reported_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("withdrawn_at", models.DateTimeField(editable=False, null=True)),
                (
                    "withdrawn_by",
                    models.ForeignKey(
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-day", "-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "kind__in",
                                ["vaccine", "dental", "skin", "surgery", "filler", "toxin"],
                            )
                        ),
                        name="care_kind_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("day__isnull", True), ("precision", "unknown")),
                            models.Q(
                                ("day__isnull", False), ("precision__in", ["day", "month", "year"])
                            ),
                            _connector="OR",
                        ),
                        name="care_day_with_its_precision",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("kind__in", ["filler", "toxin"]), ("region", ""), _connector="OR"
                        ),
                        name="care_region_of_its_kind",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("kind__in", ["toxin"]), ("centiunits__isnull", True), _connector="OR"
                        ),
                        name="care_units_of_its_kind",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("family__in", ["ha", "other", "permanent", "unknown"]),
                                ("kind", "filler"),
                            ),
                            models.Q(models.Q(("kind", "filler"), _negated=True), ("family", "")),
                            _connector="OR",
                        ),
                        name="care_family_of_a_filler",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("centiunits__isnull", True), ("centiunits__gt", 0), _connector="OR"
                        ),
                        name="care_units_positive",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("withdrawn_at__isnull", True), ("withdrawn_by__isnull", True)
                            ),
                            models.Q(
                                ("withdrawn_at__isnull", False), ("withdrawn_by__isnull", False)
                            ),
                            _connector="OR",
                        ),
                        name="care_withdrawn_by_somebody",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="TemplateLine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
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
                    "side",
                    models.CharField(
                        choices=[("left", "Left"), ("right", "Right"), ("midline", "Midline")],
                        max_length=10,
                    ),
                ),
                (
                    "product",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="clinic.product",
                    ),
                ),
                (
                    "plane",
                    models.CharField(
                        choices=[
                            ("intradermal", "Intradermal"),
                            ("subcutaneous", "Subcutaneous"),
                            ("intramuscular", "Intramuscular"),
                            ("submuscular", "Submuscular"),
                            ("deep_fat", "Deep fat"),
                            ("submucosal", "Submucosal"),
                            ("supraperiosteal", "Supraperiosteal"),
                        ],
                        max_length=20,
                    ),
                ),
                (
                    "technique",
                    models.CharField(
                        choices=[
                            ("bolus", "Bolus"),
                            ("linear_retrograde", "Linear retrograde"),
                            ("linear_anterograde", "Linear anterograde"),
                            ("fanning", "Fanning"),
                            ("cross_hatching", "Cross-hatching"),
                            ("serial_puncture", "Serial puncture"),
                            ("micro_droplet", "Micro-droplet"),
                        ],
                        max_length=20,
                    ),
                ),
                (
                    "instrument",
                    models.CharField(
                        choices=[("needle", "Needle"), ("cannula", "Cannula")], max_length=10
                    ),
                ),
                (
                    "gauge",
                    models.PositiveSmallIntegerField(
                        blank=True,
                        null=True,
                        validators=[
                            django.core.validators.MinValueValidator(14),
                            django.core.validators.MaxValueValidator(40),
                        ],
                    ),
                ),
                (
                    "length_mm",
                    models.PositiveSmallIntegerField(
                        blank=True,
                        null=True,
                        validators=[
                            django.core.validators.MinValueValidator(1),
                            django.core.validators.MaxValueValidator(200),
                        ],
                        verbose_name="length",
                    ),
                ),
                ("amount", models.PositiveBigIntegerField()),
                ("note", models.CharField(blank=True, max_length=200)),
                (
                    "template",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="lines",
                        to="records.plantemplate",
                    ),
                ),
                ("stage", models.PositiveSmallIntegerField(default=1)),
                ("weeks_after", models.PositiveSmallIntegerField(default=0)),
            ],
            options={
                "ordering": ["id"],
                "abstract": False,
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("amount__gt", 0)), name="templateline_amount_positive"
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
                        name="templateline_region_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("side__in", ["left", "right", "midline"]),
                            models.Q(
                                (
                                    "region__in",
                                    [
                                        "temple",
                                        "brow",
                                        "orbital",
                                        "lateral_canthal",
                                        "infraorbital",
                                        "zygomatic",
                                        "nasolabial",
                                        "oral_commissure",
                                        "buccal",
                                        "parotid_masseteric",
                                        "prejowl",
                                        "ear",
                                        "sternocleidomastoid",
                                        "lateral_cervical",
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
                                ),
                                ("side", planning.vocabulary.Side["MIDLINE"]),
                                _negated=True,
                            ),
                        ),
                        name="templateline_side_of_its_region",
                        violation_error_message="This region comes in pairs: choose left or right.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "plane__in",
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
                            (
                                "technique__in",
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
                            ("instrument__in", ["needle", "cannula"]),
                        ),
                        name="templateline_way_is_known",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="WholeRecord",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "patient",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="whole_records",
                        to="records.patient",
                    ),
                ),
                (
                    "purpose",
                    models.CharField(
                        choices=[
                            ("patient", "The patient asked for it"),
                            ("clinician", "Somebody else treats the patient"),
                            ("legal", "A court, an authority or an insurer asks for it"),
                            ("clinic", "The clinic’s own files"),
                        ],
                        max_length=10,
                        verbose_name="why",
                    ),
                ),
                (
                    "recipient",
                    models.CharField(
                        help_text="Who gets it: a name, or a clinic or authority.",
                        max_length=200,
                        verbose_name="handed to",
                    ),
                ),
                (
                    "note",
                    models.CharField(
                        blank=True,
                        help_text="Such as the reference of a letter, or how it was seen who asks.",
                        max_length=300,
                        verbose_name="what else is to be known",
                    ),
                ),
                ("asked_at", models.DateTimeField()),
                (
                    "asked_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("begun_at", models.DateTimeField(editable=False, null=True)),
                ("tries", models.PositiveSmallIntegerField(default=0, editable=False)),
                ("made_at", models.DateTimeField(editable=False, null=True)),
                ("pdf", models.BinaryField(null=True)),
                ("digest", models.CharField(blank=True, editable=False, max_length=64)),
            ],
            options={
                "ordering": ["-asked_at", "-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("purpose__in", ["patient", "clinician", "legal", "clinic"])
                        ),
                        name="whole_record_purpose_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("recipient", ""), _negated=True),
                        name="whole_record_says_to_whom",
                        violation_error_message="Say who gets the record.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("digest", ""), ("made_at__isnull", True), ("pdf__isnull", True)
                            ),
                            models.Q(
                                ("made_at__isnull", False),
                                ("pdf__isnull", False),
                                models.Q(("digest", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="whole_record_made_with_its_digest",
                    ),
                ],
                "indexes": [
                    models.Index(
                        condition=models.Q(("made_at__isnull", True)),
                        fields=["id"],
                        name="whole_record_to_make",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="CalendarEntry",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "appointment",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="calendar_entry",
                        to="records.appointment",
                    ),
                ),
                ("uid", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("sequence", models.PositiveIntegerField(default=0)),
                ("starts_at", models.DateTimeField()),
                ("minutes", models.PositiveSmallIntegerField()),
                ("place", models.TextField(blank=True)),
                ("is_cancelled", models.BooleanField(default=False)),
                ("said_at", models.DateTimeField()),
            ],
        ),
        migrations.CreateModel(
            name="CasePatient",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "case",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="people",
                        to="records.recallcase",
                    ),
                ),
                (
                    "patient",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="recalls",
                        to="records.patient",
                    ),
                ),
                ("added_at", models.DateTimeField()),
                (
                    "appointment",
                    models.ForeignKey(
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="records.appointment",
                    ),
                ),
                (
                    "unreachable_note",
                    models.CharField(
                        blank=True,
                        help_text="Why there is none, and what was tried to find one.",
                        max_length=300,
                        verbose_name="no way to reach them",
                    ),
                ),
            ],
            options={
                "ordering": ["id"],
                "constraints": [
                    models.UniqueConstraint(fields=("case", "patient"), name="recall_patient_once")
                ],
            },
        ),
        migrations.CreateModel(
            name="ConsentTick",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "consent",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="ticks",
                        to="records.consent",
                    ),
                ),
                (
                    "risk",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="records.consentrisk",
                    ),
                ),
            ],
            options={
                "ordering": ["consent", "risk__position"],
                "constraints": [
                    models.UniqueConstraint(fields=("consent", "risk"), name="consent_tick_once")
                ],
            },
        ),
        migrations.CreateModel(
            name="FreedTime",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "appointment",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="records.appointment",
                    ),
                ),
                (
                    "practitioner",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("starts_at", models.DateTimeField(verbose_name="start")),
                ("minutes", models.PositiveSmallIntegerField()),
                ("freed_at", models.DateTimeField()),
                (
                    "freed_by",
                    models.ForeignKey(
                        blank=True,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("left_at", models.DateTimeField(editable=False, null=True)),
                (
                    "left_by",
                    models.ForeignKey(
                        blank=True,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["starts_at", "id"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("starts_at", "practitioner"), name="freed_time_once"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("minutes__gt", 0)), name="freed_time_takes_time"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="GradedRegion",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "assessment",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="regions",
                        to="records.assessment",
                    ),
                ),
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
                    "scale",
                    models.CharField(
                        choices=[
                            ("volume", "Loss of volume"),
                            ("movement", "Lines at full movement"),
                        ],
                        max_length=10,
                    ),
                ),
                ("left", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("right", models.PositiveSmallIntegerField(blank=True, null=True)),
                (
                    "midline",
                    models.PositiveSmallIntegerField(blank=True, null=True, verbose_name="whole"),
                ),
                ("note", models.CharField(blank=True, max_length=200)),
            ],
            options={
                "ordering": ["id"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("assessment", "region", "scale"), name="graded_region_once"
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
                        name="graded_region_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("scale", "volume"),
                                models.Q(("left__isnull", True), ("left__lte", 4), _connector="OR"),
                                models.Q(
                                    ("right__isnull", True), ("right__lte", 4), _connector="OR"
                                ),
                                models.Q(
                                    ("midline__isnull", True), ("midline__lte", 4), _connector="OR"
                                ),
                            ),
                            models.Q(
                                ("scale", "movement"),
                                models.Q(("left__isnull", True), ("left__lte", 3), _connector="OR"),
                                models.Q(
                                    ("right__isnull", True), ("right__lte", 3), _connector="OR"
                                ),
                                models.Q(
                                    ("midline__isnull", True), ("midline__lte", 3), _connector="OR"
                                ),
                            ),
                            _connector="OR",
                        ),
                        name="graded_on_its_scale",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("midline__isnull", True),
                            models.Q(
                                ("left__isnull", True),
                                (
                                    "region__in",
                                    [
                                        "forehead",
                                        "glabella",
                                        "jugular_fossa",
                                        "lower_lip",
                                        "mental",
                                        "nasal",
                                        "neck",
                                        "presternal",
                                        "submental",
                                        "upper_lip",
                                    ],
                                ),
                                ("right__isnull", True),
                            ),
                            _connector="OR",
                        ),
                        name="graded_whole_or_by_sides",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("left__isnull", False),
                            ("right__isnull", False),
                            ("midline__isnull", False),
                            models.Q(("note", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="graded_or_noted",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="HistoryCheck",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "form",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="checks",
                        to="records.historyform",
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("read", "Read and checked"),
                            (
                                "unchanged_patient",
                                "Nothing changed, says the patient on the tablet",
                            ),
                            ("unchanged_staff", "Nothing changed, asked by staff"),
                        ],
                        max_length=17,
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
                ("note", models.CharField(blank=True, max_length=300)),
            ],
            options={
                "ordering": ["at", "id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("kind__in", ["read", "unchanged_patient", "unchanged_staff"])
                        ),
                        name="history_check_kind_is_known",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="HistoryLink",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "form",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="link",
                        to="records.historyform",
                    ),
                ),
                ("reference", models.CharField(max_length=32, unique=True)),
                ("token_digest", models.CharField(max_length=64, unique=True)),
                ("expires_at", models.DateTimeField()),
                ("used_at", models.DateTimeField(null=True)),
                ("tries", models.PositiveSmallIntegerField(default=0)),
            ],
        ),
        migrations.CreateModel(
            name="HeldCell",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "appointment",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="cells",
                        to="records.appointment",
                    ),
                ),
                ("cell", models.BigIntegerField()),
                (
                    "practitioner",
                    models.ForeignKey(
                        db_index=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "room",
                    models.ForeignKey(
                        db_index=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="clinic.room",
                    ),
                ),
                (
                    "patient",
                    models.ForeignKey(
                        db_index=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="records.patient",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        fields=("practitioner", "cell"), name="held_practitioner_once"
                    ),
                    models.UniqueConstraint(fields=("room", "cell"), name="held_room_once"),
                    models.UniqueConstraint(fields=("patient", "cell"), name="held_patient_once"),
                ],
            },
        ),
        migrations.CreateModel(
            name="PlanSummary",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "plan",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="summaries",
                        to="records.plan",
                    ),
                ),
                ("number", models.PositiveSmallIntegerField()),
                ("pdf", models.BinaryField()),
                ("digest", models.CharField(max_length=64)),
                ("total", models.PositiveBigIntegerField(null=True)),
                ("currency", models.CharField(max_length=3)),
                ("issued_at", models.DateTimeField()),
                (
                    "issued_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["plan", "number"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("plan", "number"), name="plan_summary_number_once"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="HistoryAnswer",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "form",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="answers",
                        to="records.historyform",
                    ),
                ),
                (
                    "question",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="records.question",
                    ),
                ),
                (
                    "said",
                    models.CharField(
                        choices=[
                            ("yes", "Yes"),
                            ("no", "No"),
                            ("unsure", "Not sure"),
                            ("written", "Something written"),
                            ("nothing", "Nothing written"),
                        ],
                        max_length=8,
                    ),
                ),
                ("detail", models.CharField(blank=True, max_length=1000)),
            ],
            options={
                "ordering": ["question__position"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("form", "question"), name="history_answer_once"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("said__in", ["yes", "no", "unsure", "written", "nothing"])
                        ),
                        name="history_answer_is_known",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="TreatmentSession",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("head", models.UUIDField(editable=False, null=True)),
                (
                    "patient",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="sessions",
                        to="records.patient",
                    ),
                ),
                (
                    "injector",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="sessions",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "appointment",
                    models.OneToOneField(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="session",
                        to="records.appointment",
                    ),
                ),
                ("started_at", models.DateTimeField(verbose_name="treated at")),
                (
                    "late_reason",
                    models.CharField(
                        blank=True,
                        help_text="Needed when the treatment was not today.",
                        max_length=300,
                        verbose_name="written down later because",
                    ),
                ),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                (
                    "jaw",
                    models.CharField(
                        choices=[
                            ("narrower", "Narrower jaw"),
                            ("average", "Average jaw"),
                            ("broader", "Broader jaw"),
                        ],
                        default=planning.vocabulary.Jaw["AVERAGE"],
                        max_length=10,
                    ),
                ),
                (
                    "pupil_dmm",
                    models.PositiveSmallIntegerField(
                        blank=True, null=True, verbose_name="between the pupils"
                    ),
                ),
                (
                    "face_height_dmm",
                    models.PositiveSmallIntegerField(
                        blank=True, null=True, verbose_name="face height"
                    ),
                ),
                (
                    "face_width_dmm",
                    models.PositiveSmallIntegerField(
                        blank=True, null=True, verbose_name="face width"
                    ),
                ),
                ("note", models.TextField(blank=True)),
                ("signed_at", models.DateTimeField(editable=False, null=True)),
                (
                    "signed_by",
                    models.ForeignKey(
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("signed_name", models.CharField(blank=True, editable=False, max_length=300)),
                ("signature_made_at", models.DateTimeField(editable=False, null=True)),
                ("signed_digest", models.CharField(blank=True, editable=False, max_length=64)),
                ("signed_flags", models.JSONField(editable=False, null=True)),
                ("set_aside_at", models.DateTimeField(editable=False, null=True)),
            ],
            options={
                "ordering": ["-started_at", "-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("signed_at__isnull", True), ("signed_by__isnull", True)),
                            models.Q(("signed_at__isnull", False), ("signed_by__isnull", False)),
                            _connector="OR",
                        ),
                        name="session_signed_by_somebody",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(
                            ("set_aside_at__isnull", True), ("signed_at__isnull", True)
                        ),
                        fields=("patient",),
                        name="session_one_open_per_patient",
                        violation_error_message="This patient has an unsigned session: finish that first.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("set_aside_at__isnull", True),
                            models.Q(
                                ("appointment__isnull", True),
                                ("note", ""),
                                ("signed_at__isnull", True),
                            ),
                            _connector="OR",
                        ),
                        name="session_set_aside_is_empty",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("pupil_dmm__isnull", True),
                            ("pupil_dmm__range", (300, 900)),
                            _connector="OR",
                        ),
                        name="session_pupil_dmm_in_range",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("face_height_dmm__isnull", True),
                            ("face_height_dmm__range", (600, 1800)),
                            _connector="OR",
                        ),
                        name="session_face_height_dmm_in_range",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("face_width_dmm__isnull", True),
                            ("face_width_dmm__range", (800, 2000)),
                            _connector="OR",
                        ),
                        name="session_face_width_dmm_in_range",
                    ),
                ],
                "indexes": [models.Index(fields=["started_at"], name="session_by_start")],
            },
        ),
        migrations.CreateModel(
            name="WaitingEntry",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "patient",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="waiting_entries",
                        to="records.patient",
                    ),
                ),
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
                        verbose_name="visit",
                    ),
                ),
                (
                    "minutes",
                    models.PositiveSmallIntegerField(
                        blank=True,
                        null=True,
                        validators=[
                            django.core.validators.MinValueValidator(5),
                            django.core.validators.MaxValueValidator(480),
                        ],
                        verbose_name="length",
                    ),
                ),
                (
                    "practitioner",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="waiting_entries",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="waiting_entries",
                        to="clinic.site",
                    ),
                ),
                ("first_on", models.DateField(verbose_name="earliest day")),
                ("last_on", models.DateField(blank=True, null=True, verbose_name="latest day")),
                (
                    "weekdays",
                    models.JSONField(
                        default=records.waiting_list.models.every_day,
                        validators=[clinic.policy.validators.validate_open_weekdays],
                    ),
                ),
                (
                    "part",
                    models.CharField(
                        choices=[
                            ("any", "Any time"),
                            ("morning", "Morning"),
                            ("afternoon", "Afternoon"),
                        ],
                        default=planning.waiting.DayPart["ANY"],
                        max_length=10,
                        verbose_name="part of the day",
                    ),
                ),
                (
                    "notice_hours",
                    models.PositiveSmallIntegerField(
                        default=24,
                        validators=[django.core.validators.MaxValueValidator(336)],
                        verbose_name="notice needed",
                    ),
                ),
                ("is_urgent", models.BooleanField(default=False, verbose_name="urgent")),
                (
                    "urgent_reason",
                    models.CharField(blank=True, max_length=200, verbose_name="why it is urgent"),
                ),
                (
                    "urgent_by",
                    models.ForeignKey(
                        blank=True,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "note",
                    models.CharField(blank=True, help_text="Nothing clinical.", max_length=200),
                ),
                ("added_at", models.DateTimeField(editable=False, verbose_name="waits since")),
                (
                    "added_by",
                    models.ForeignKey(
                        editable=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("closed_at", models.DateTimeField(editable=False, null=True)),
                (
                    "closed_by",
                    models.ForeignKey(
                        blank=True,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "outcome",
                    models.CharField(
                        blank=True,
                        choices=[("booked", "Booked"), ("gone", "Taken off")],
                        editable=False,
                        max_length=10,
                    ),
                ),
                ("reason", models.CharField(blank=True, editable=False, max_length=200)),
                (
                    "appointment",
                    models.ForeignKey(
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="records.appointment",
                    ),
                ),
            ],
            options={
                "verbose_name": "waiting list entry",
                "verbose_name_plural": "waiting list entries",
                "ordering": ["added_at", "id"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("closed_at__isnull", True)),
                        fields=("patient", "kind"),
                        name="waiting_once_a_kind",
                        violation_error_message="The patient waits for this kind of visit already.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("last_on__isnull", True),
                            ("last_on__gte", models.F("first_on")),
                            _connector="OR",
                        ),
                        name="waiting_last_after_first",
                        violation_error_message="The latest day lies before the earliest day.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("minutes__isnull", True),
                            models.Q(
                                ("minutes__gt", 0),
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
                            ),
                            _connector="OR",
                        ),
                        name="waiting_minutes_in_steps",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("part__in", ["any", "morning", "afternoon"])),
                        name="waiting_part_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("is_urgent", False),
                                ("urgent_by__isnull", True),
                                ("urgent_reason", ""),
                            ),
                            models.Q(
                                ("is_urgent", True),
                                ("urgent_by__isnull", False),
                                models.Q(("urgent_reason", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="waiting_urgent_by_somebody",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("appointment__isnull", True),
                                ("closed_at__isnull", True),
                                ("outcome", ""),
                                ("reason", ""),
                            ),
                            models.Q(
                                ("appointment__isnull", False),
                                ("closed_at__isnull", False),
                                ("outcome", records.waiting_list.enums.Outcome["BOOKED"]),
                            ),
                            models.Q(
                                ("appointment__isnull", True),
                                ("closed_at__isnull", False),
                                ("outcome", records.waiting_list.enums.Outcome["GONE"]),
                                models.Q(("reason", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="waiting_closed_with_outcome",
                    ),
                ],
                "indexes": [
                    models.Index(
                        condition=models.Q(("closed_at__isnull", True)),
                        fields=["-is_urgent", "added_at", "id"],
                        name="waiting_in_order",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="ConsentPaper",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "consent",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="papers",
                        to="records.consent",
                    ),
                ),
                ("shows_withdrawal", models.BooleanField()),
                ("pdf", models.BinaryField()),
                ("digest", models.CharField(max_length=64)),
                ("made_at", models.DateTimeField()),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        fields=("consent", "shows_withdrawal"), name="consent_paper_once_per_state"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="CaseContact",
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
                        related_name="contacts",
                        to="records.casepatient",
                    ),
                ),
                (
                    "channel",
                    models.CharField(
                        choices=[
                            ("phone", "Phone"),
                            ("sms", "Text message"),
                            ("email", "E-mail"),
                            ("letter", "Letter"),
                        ],
                        max_length=10,
                    ),
                ),
                (
                    "outcome",
                    models.CharField(
                        choices=[
                            ("sent", "Sent"),
                            ("no_answer", "No answer"),
                            ("message_left", "Message left"),
                            ("informed", "Spoken to, and told"),
                            ("replied", "Patient replied"),
                            ("came_back", "Came back undelivered"),
                            ("wrong_details", "Number or address is wrong"),
                            ("declined", "Wants no further contact"),
                        ],
                        max_length=20,
                    ),
                ),
                ("note", models.TextField(blank=True)),
                (
                    "item",
                    models.OneToOneField(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="contact",
                        to="records.mailingitem",
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
                        condition=models.Q(("channel__in", ["phone", "sms", "email", "letter"])),
                        name="recall_contact_channel_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "outcome__in",
                                [
                                    "sent",
                                    "no_answer",
                                    "message_left",
                                    "informed",
                                    "replied",
                                    "came_back",
                                    "wrong_details",
                                    "declined",
                                ],
                            )
                        ),
                        name="recall_contact_outcome_is_known",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Marking",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                (
                    "session",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="markings",
                        to="records.treatmentsession",
                    ),
                ),
                (
                    "view",
                    models.CharField(
                        choices=[
                            ("front", "Front"),
                            ("right", "Right side"),
                            ("left", "Left side"),
                            ("neck", "Neck"),
                            ("hands", "Hands"),
                            ("picture", "Photograph"),
                        ],
                        max_length=10,
                    ),
                ),
                ("x_dmm", models.SmallIntegerField()),
                ("y_dmm", models.SmallIntegerField()),
                ("chart_version", models.CharField(max_length=10)),
                ("region", models.CharField(max_length=40)),
                (
                    "side",
                    models.CharField(
                        choices=[("left", "Left"), ("right", "Right"), ("midline", "Midline")],
                        max_length=10,
                    ),
                ),
                ("marked_at", models.DateTimeField(help_text="By the clock of the device.")),
                (
                    "marked_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
                ("head", models.UUIDField(editable=False, null=True)),
            ],
            options={
                "ordering": ["id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("view__in", ["front", "right", "left", "neck", "hands"])
                        ),
                        name="marking_on_a_drawing",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("side__in", ["left", "right", "midline"])),
                        name="marking_side_is_known",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Occlusion",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("key", models.UUIDField(editable=False, unique=True)),
                ("at", models.DateTimeField()),
                ("tablet_at", models.DateTimeField()),
                ("received_at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "session",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="occlusions",
                        to="records.treatmentsession",
                    ),
                ),
                (
                    "protocol",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="clinic.protocol",
                    ),
                ),
            ],
            options={
                "ordering": ["at", "id"],
                "abstract": False,
            },
        ),
        migrations.CreateModel(
            name="Photograph",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                (
                    "patient",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="photographs",
                        to="records.patient",
                    ),
                ),
                (
                    "session",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="photographs",
                        to="records.treatmentsession",
                    ),
                ),
                (
                    "view",
                    models.CharField(
                        choices=[
                            ("front", "Front"),
                            ("oblique_right", "Right oblique, 45°"),
                            ("oblique_left", "Left oblique, 45°"),
                            ("profile_right", "Right profile"),
                            ("profile_left", "Left profile"),
                            ("neck", "Neck"),
                            ("hands", "Backs of the hands"),
                        ],
                        max_length=20,
                    ),
                ),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("rest", "Rest"),
                            ("brows_raised", "Brows raised"),
                            ("frown", "Frown"),
                            ("eyes_shut", "Eyes shut tight"),
                            ("nose_wrinkled", "Nose wrinkled"),
                            ("smile", "Full smile"),
                            ("pucker", "Lips puckered"),
                            ("chin_tensed", "Chin tensed"),
                            ("corners_down", "Corners of the mouth down"),
                            ("jaw_clenched", "Teeth clenched"),
                            ("neck_tensed", "Neck tensed"),
                        ],
                        max_length=20,
                    ),
                ),
                (
                    "taken_at",
                    models.DateTimeField(
                        help_text="By the clock of the device.", verbose_name="taken"
                    ),
                ),
                ("added_at", models.DateTimeField(auto_now_add=True)),
                (
                    "added_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "source",
                    models.CharField(
                        choices=[("camera", "Taken here"), ("upload", "Uploaded")], max_length=10
                    ),
                ),
                (
                    "file",
                    models.FileField(
                        storage=clinic.pictures.storage.private_pictures, upload_to=""
                    ),
                ),
                (
                    "preview",
                    models.FileField(
                        blank=True, storage=clinic.pictures.storage.private_pictures, upload_to=""
                    ),
                ),
                (
                    "thumbnail",
                    models.FileField(
                        blank=True, storage=clinic.pictures.storage.private_pictures, upload_to=""
                    ),
                ),
                ("width", models.PositiveIntegerField(help_text="Pixels.")),
                ("height", models.PositiveIntegerField(help_text="Pixels.")),
                (
                    "digest",
                    models.CharField(help_text="SHA-256 of the stored bytes.", max_length=64),
                ),
                (
                    "sent_digest",
                    models.CharField(
                        help_text="SHA-256 of the bytes that were sent.", max_length=64
                    ),
                ),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
                (
                    "removed_by",
                    models.ForeignKey(
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("removed_reason", models.CharField(blank=True, editable=False, max_length=300)),
            ],
            options={
                "ordering": ["-taken_at", "-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "view__in",
                                [
                                    "front",
                                    "oblique_right",
                                    "oblique_left",
                                    "profile_right",
                                    "profile_left",
                                    "neck",
                                    "hands",
                                ],
                            )
                        ),
                        name="photograph_view_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "state__in",
                                [
                                    "rest",
                                    "brows_raised",
                                    "frown",
                                    "eyes_shut",
                                    "nose_wrinkled",
                                    "smile",
                                    "pucker",
                                    "chin_tensed",
                                    "corners_down",
                                    "jaw_clenched",
                                    "neck_tensed",
                                ],
                            )
                        ),
                        name="photograph_state_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("height__gt", 0), ("width__gt", 0)),
                        name="photograph_has_a_size",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("removed_at__isnull", True),
                                ("removed_by__isnull", True),
                                ("removed_reason", ""),
                            ),
                            models.Q(
                                ("removed_at__isnull", False),
                                ("removed_by__isnull", False),
                                models.Q(("removed_reason", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="photograph_removed_by_somebody_for_a_reason",
                    ),
                ],
                "indexes": [
                    models.Index(
                        fields=["patient", "-taken_at", "-id"], name="photograph_of_patient"
                    ),
                    models.Index(
                        condition=models.Q(("removed_at__isnull", True), ("thumbnail", "")),
                        fields=["id"],
                        name="photograph_small_to_make",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="PlanStage",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "plan",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="stages",
                        to="records.plan",
                    ),
                ),
                (
                    "number",
                    models.PositiveSmallIntegerField(
                        validators=[
                            django.core.validators.MinValueValidator(1),
                            django.core.validators.MaxValueValidator(12),
                        ]
                    ),
                ),
                (
                    "weeks_after",
                    models.PositiveSmallIntegerField(
                        default=0,
                        validators=[django.core.validators.MaxValueValidator(260)],
                        verbose_name="weeks after the stage before",
                    ),
                ),
                (
                    "session",
                    models.OneToOneField(
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="plan_stage",
                        to="records.treatmentsession",
                    ),
                ),
                ("units_planned", models.JSONField(default=dict, editable=False)),
                (
                    "given_back_by",
                    models.ForeignKey(
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="records.treatmentsession",
                    ),
                ),
            ],
            options={
                "ordering": ["plan", "number"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("plan", "number"), name="plan_stage_number_once"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("number__range", (1, 12))),
                        name="plan_stage_number_in_range",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Review",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "patient",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="reviews",
                        to="records.patient",
                    ),
                ),
                (
                    "session",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="reviews",
                        to="records.treatmentsession",
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[("review", "Review"), ("top_up", "Top-up")],
                        default=records.reviews.enums.ReviewKind["REVIEW"],
                        max_length=10,
                    ),
                ),
                ("earliest_on", models.DateField(verbose_name="not before")),
                ("due_on", models.DateField(verbose_name="due")),
                ("latest_on", models.DateField(verbose_name="overdue after")),
                ("moved_from", models.DateField(blank=True, null=True)),
                ("label", models.TextField(blank=True, help_text="What its rules call it.")),
                ("rule", models.TextField(help_text="The rules and sources it came from.")),
                (
                    "appointment",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="reviews",
                        to="records.appointment",
                    ),
                ),
                (
                    "booked_at",
                    models.DateTimeField(editable=False, null=True, verbose_name="noted as booked"),
                ),
                ("closed_at", models.DateTimeField(null=True)),
                (
                    "closed_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "outcome",
                    models.CharField(
                        blank=True,
                        choices=[("done", "Done"), ("excused", "Excused")],
                        max_length=10,
                    ),
                ),
                ("excuse", models.CharField(blank=True, max_length=300)),
            ],
            options={
                "ordering": ["due_on", "id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("earliest_on__lte", models.F("due_on")),
                            ("latest_on__gte", models.F("due_on")),
                        ),
                        name="review_due_within_window",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("closed_at__isnull", True),
                                ("closed_by__isnull", True),
                                ("outcome", ""),
                            ),
                            models.Q(
                                ("closed_at__isnull", False),
                                ("closed_by__isnull", False),
                                ("outcome__in", ["done", "excused"]),
                            ),
                            _connector="OR",
                        ),
                        name="review_closed_with_outcome",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("outcome", "excused"), _negated=True),
                            models.Q(("excuse", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="review_excused_with_reason",
                        violation_error_message="Say why the review is not needed.",
                    ),
                ],
                "indexes": [
                    models.Index(
                        condition=models.Q(("closed_at__isnull", True)),
                        fields=["due_on", "id"],
                        name="review_open_by_due",
                    ),
                    models.Index(
                        condition=models.Q(("closed_at__isnull", False)),
                        fields=["closed_at"],
                        name="review_by_closing",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="RaisedAlert",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "alert",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="raised_by",
                        to="records.alert",
                    ),
                ),
                (
                    "answer",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="raised",
                        to="records.historyanswer",
                    ),
                ),
                (
                    "rule",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="raised",
                        to="records.screeningrule",
                    ),
                ),
                ("source", models.CharField(max_length=240)),
            ],
        ),
        migrations.CreateModel(
            name="SessionPicture",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                (
                    "session",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="pictures",
                        to="records.treatmentsession",
                    ),
                ),
                (
                    "file",
                    models.FileField(
                        storage=clinic.pictures.storage.private_pictures, upload_to=""
                    ),
                ),
                ("width", models.PositiveIntegerField(help_text="Pixels.")),
                ("height", models.PositiveIntegerField(help_text="Pixels.")),
                (
                    "digest",
                    models.CharField(help_text="SHA-256 of the stored bytes.", max_length=64),
                ),
                (
                    "sent_digest",
                    models.CharField(
                        help_text="SHA-256 of the bytes that were sent.", max_length=64
                    ),
                ),
                ("x1", models.PositiveIntegerField(null=True)),
                ("y1", models.PositiveIntegerField(null=True)),
                ("x2", models.PositiveIntegerField(null=True)),
                ("y2", models.PositiveIntegerField(null=True)),
                ("distance_dmm", models.PositiveIntegerField(null=True)),
                (
                    "on_pupils",
                    models.BooleanField(
                        default=False,
                        help_text="The two places are the pupils, seen from the front.",
                    ),
                ),
                ("taken_at", models.DateTimeField(help_text="By the clock of the device.")),
                ("added_at", models.DateTimeField(auto_now_add=True)),
                (
                    "added_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
                ("head", models.UUIDField(editable=False, null=True)),
            ],
            options={
                "ordering": ["id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("height__gt", 0), ("width__gt", 0)),
                        name="picture_has_a_size",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("distance_dmm__isnull", True),
                                ("x1__isnull", True),
                                ("x2__isnull", True),
                                ("y1__isnull", True),
                                ("y2__isnull", True),
                            ),
                            models.Q(
                                ("distance_dmm__gt", 0),
                                ("distance_dmm__isnull", False),
                                ("x1__isnull", False),
                                ("x2__isnull", False),
                                ("y1__isnull", False),
                                ("y2__isnull", False),
                                models.Q(
                                    ("x1", models.F("x2")), ("y1", models.F("y2")), _negated=True
                                ),
                            ),
                            _connector="OR",
                        ),
                        name="picture_scale_whole",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="TimeOutCheck",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("key", models.UUIDField(editable=False)),
                (
                    "session",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="time_out_checks",
                        to="records.treatmentsession",
                    ),
                ),
                (
                    "item",
                    models.CharField(
                        choices=[
                            ("identity", "Name and date of birth, said by the patient"),
                            ("allergies", "Allergies and alerts read out"),
                            ("consent", "Consent given for what is done today"),
                            ("photographs", "Photographs taken"),
                            ("units", "Units opened: product, lot and expiry"),
                            ("kit", "Emergency kit here and in date"),
                        ],
                        max_length=12,
                    ),
                ),
                ("is_confirmed", models.BooleanField(verbose_name="confirmed")),
                ("note", models.CharField(blank=True, max_length=300)),
                ("facts", models.CharField(blank=True, max_length=1000)),
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
                    models.UniqueConstraint(fields=("key", "item"), name="time_out_item_once"),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "item__in",
                                ["identity", "allergies", "consent", "photographs", "units", "kit"],
                            )
                        ),
                        name="time_out_item_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("is_confirmed", True),
                            models.Q(("note", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="time_out_says_why_not",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="SessionUnit",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "session",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="tray",
                        to="records.treatmentsession",
                    ),
                ),
                (
                    "unit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="trays",
                        to="clinic.unitofstock",
                    ),
                ),
                ("deviation", models.CharField(blank=True, max_length=300)),
                (
                    "remainder",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("empty", "Nothing left"),
                            ("wasted", "Wasted"),
                            ("kept", "Kept for the same patient"),
                            ("shared", "Stays in use"),
                        ],
                        max_length=10,
                    ),
                ),
                ("remainder_amount", models.PositiveBigIntegerField(null=True)),
            ],
            options={
                "ordering": ["id"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("session", "unit"), name="unit_once_per_session"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Operation",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        help_text="Made at the touch.", primary_key=True, serialize=False
                    ),
                ),
                (
                    "session",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="operations",
                        to="records.treatmentsession",
                    ),
                ),
                ("session_key", models.UUIDField()),
                (
                    "kind",
                    models.CharField(
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
                            ("numb", "Noted an anaesthetic"),
                            ("numb_off", "Removed an anaesthetic"),
                            ("numb_back", "Brought back an anaesthetic"),
                            ("time_out", "Did the time-out"),
                            ("decide", "Wrote down why a session was started against a stop"),
                            ("calibrate", "Gave a photograph its scale"),
                            ("drop_picture", "Removed a photograph"),
                            ("occlude", "Opened the occlusion log"),
                            ("occlusion_note", "Wrote in the occlusion log"),
                            ("set_aside", "Set the session aside as started by mistake"),
                            ("sign", "Signed"),
                            ("addendum", "Wrote an addendum"),
                            ("withdraw", "Gave up an act that was not stored"),
                        ],
                        max_length=20,
                    ),
                ),
                (
                    "author",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "sent_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("device", models.UUIDField(null=True)),
                ("sequence", models.PositiveBigIntegerField(default=0)),
                ("made_at", models.DateTimeField()),
                ("received_at", models.DateTimeField()),
                ("skew_ms", models.BigIntegerField(default=0)),
                ("handed_over", models.BooleanField(default=False)),
                (
                    "body_digest",
                    models.CharField(
                        blank=True,
                        help_text="SHA-256 of what was sent, in canonical JSON.",
                        max_length=64,
                    ),
                ),
                (
                    "outcome",
                    models.CharField(
                        choices=[("applied", "Stored"), ("withdrawn", "Given up")],
                        default="applied",
                        max_length=10,
                    ),
                ),
            ],
            options={
                "ordering": ["received_at"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("outcome__in", ["applied", "withdrawn"])),
                        name="operation_outcome_is_kept",
                    )
                ],
                "indexes": [
                    models.Index(fields=["session", "received_at"], name="operation_by_session")
                ],
            },
        ),
        migrations.CreateModel(
            name="Opening",
            fields=[
                (
                    "unit",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        primary_key=True,
                        related_name="opening",
                        serialize=False,
                        to="clinic.unitofstock",
                    ),
                ),
                (
                    "session",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="openings",
                        to="records.treatmentsession",
                    ),
                ),
                (
                    "patient",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="bound_units",
                        to="records.patient",
                    ),
                ),
                ("opened_at", models.DateTimeField()),
                (
                    "opened_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "diluent",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("saline", "Sodium chloride 0.9 %"),
                            ("preserved_saline", "Sodium chloride 0.9 %, preserved"),
                            ("water", "Water for injections"),
                            ("other", "Another diluent"),
                        ],
                        max_length=20,
                        verbose_name="made up with",
                    ),
                ),
                (
                    "diluent_ul",
                    models.PositiveIntegerField(
                        blank=True, null=True, verbose_name="volume of diluent"
                    ),
                ),
                ("use_before", models.DateTimeField(blank=True, null=True)),
                (
                    "deviation",
                    models.CharField(
                        blank=True,
                        help_text="Why a unit was used that the clinic would have refused.",
                        max_length=300,
                    ),
                ),
                (
                    "confirmed_odd",
                    models.CharField(
                        blank=True,
                        help_text="What was asked about the diluent when it was typed, and confirmed.",
                        max_length=200,
                        verbose_name="confirmed when asked",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("diluent__in", ["", "saline", "preserved_saline", "water", "other"])
                        ),
                        name="opening_diluent_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("diluent", ""), ("diluent_ul__isnull", False), _connector="OR"
                        ),
                        name="opening_diluent_has_a_volume",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="GateDecision",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                (
                    "patient",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="gate_decisions",
                        to="records.patient",
                    ),
                ),
                (
                    "session",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="gate_decisions",
                        to="records.treatmentsession",
                    ),
                ),
                ("gate", models.CharField(max_length=100)),
                ("title", models.CharField(max_length=300)),
                ("text", models.TextField(blank=True)),
                ("source", models.CharField(blank=True, max_length=500)),
                ("can_be_decided", models.BooleanField()),
                (
                    "how",
                    models.CharField(
                        choices=[
                            ("go_on", "Decided to go on"),
                            ("afterwards", "Written down after it was done"),
                            ("stood", "Stood when the session was started"),
                        ],
                        max_length=12,
                    ),
                ),
                ("reason", models.CharField(blank=True, max_length=500)),
                (
                    "decided_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("decided_at", models.DateTimeField()),
            ],
            options={
                "ordering": ["id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("how__in", ["go_on", "afterwards", "stood"])),
                        name="gate_how_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("how", "stood"), ("reason", "")),
                            models.Q(
                                models.Q(("how", "stood"), _negated=True),
                                models.Q(("reason", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="gate_decision_has_a_reason",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("can_be_decided", True),
                            models.Q(("how", "go_on"), _negated=True),
                            _connector="OR",
                        ),
                        name="gate_shut_is_not_decided",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("gate", ""), _negated=True),
                            models.Q(("title", ""), _negated=True),
                        ),
                        name="gate_says_what_it_is",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="ChartNote",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "session",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="notes",
                        to="records.treatmentsession",
                    ),
                ),
                ("addenda", models.PositiveSmallIntegerField()),
                ("edition", models.CharField(blank=True, max_length=64)),
                ("pdf", models.BinaryField()),
                ("digest", models.CharField(max_length=64)),
                ("made_at", models.DateTimeField()),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        fields=("session", "addenda", "edition"), name="note_once_per_edition"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Anaesthesia",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                (
                    "session",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="anaesthesia",
                        to="records.treatmentsession",
                    ),
                ),
                (
                    "method",
                    models.CharField(
                        choices=[
                            ("topical", "On the skin"),
                            ("infiltration", "Infiltration"),
                            ("block", "Nerve block"),
                        ],
                        max_length=20,
                        verbose_name="how",
                    ),
                ),
                ("product", models.CharField(max_length=200)),
                (
                    "lidocaine_ug_per_ml",
                    models.PositiveIntegerField(default=0, verbose_name="lidocaine"),
                ),
                ("with_epinephrine", models.BooleanField(default=False)),
                ("volume_ul", models.PositiveIntegerField(verbose_name="amount")),
                ("given_at", models.DateTimeField()),
                ("logged_at", models.DateTimeField(auto_now_add=True)),
                (
                    "logged_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
                ("head", models.UUIDField(editable=False, null=True)),
            ],
            options={
                "verbose_name_plural": "anaesthesia",
                "ordering": ["id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("method__in", ["topical", "infiltration", "block"])),
                        name="anaesthesia_method_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("volume_ul__gt", 0)), name="anaesthesia_amount_positive"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("product", ""), _negated=True),
                        name="anaesthesia_names_the_product",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Offer",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "entry",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="offers",
                        to="records.waitingentry",
                    ),
                ),
                (
                    "freed",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="offers",
                        to="records.freedtime",
                    ),
                ),
                (
                    "appointment",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="waiting_offer",
                        to="records.appointment",
                    ),
                ),
                ("offered_at", models.DateTimeField()),
                (
                    "offered_by",
                    models.ForeignKey(
                        blank=True,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "answer",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("accepted", "Accepted"),
                            ("declined", "Declined"),
                            ("expired", "Not answered in time"),
                            ("withdrawn", "Taken back"),
                        ],
                        max_length=10,
                    ),
                ),
                ("answered_at", models.DateTimeField(null=True)),
                (
                    "answered_by",
                    models.ForeignKey(
                        blank=True,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("reason", models.CharField(blank=True, max_length=200)),
            ],
            options={
                "verbose_name": "waiting list offer",
                "ordering": ["id"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("answered_at__isnull", True)),
                        fields=("entry",),
                        name="offer_one_open",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("answer", ""), ("answered_at__isnull", True)),
                            models.Q(
                                ("answered_at__isnull", False),
                                ("answer__in", ["accepted", "declined", "expired", "withdrawn"]),
                            ),
                            _connector="OR",
                        ),
                        name="offer_answered_by_a_word",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="CaseCheck",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "person",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="effectiveness",
                        to="records.casepatient",
                    ),
                ),
                ("position", models.PositiveIntegerField(help_text="In the order of the draw.")),
                (
                    "result",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("effective", "Has the message and understood it"),
                            ("not_effective", "Does not know of it"),
                            ("not_reached", "Could not be asked"),
                        ],
                        max_length=15,
                    ),
                ),
                ("note", models.CharField(blank=True, max_length=300)),
                ("at", models.DateTimeField(null=True)),
                (
                    "by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["position"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("result__in", ["", "effective", "not_effective", "not_reached"])
                        ),
                        name="recall_check_result_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("at__isnull", True), ("by__isnull", True), ("result", "")),
                            models.Q(
                                models.Q(("result", ""), _negated=True),
                                ("at__isnull", False),
                                ("by__isnull", False),
                            ),
                            _connector="OR",
                        ),
                        name="recall_check_by_somebody",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="InjectionEntry",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "key",
                    models.UUIDField(
                        default=uuid.uuid4, help_text="Made where it was tapped.", unique=True
                    ),
                ),
                (
                    "session",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="points",
                        to="records.treatmentsession",
                    ),
                ),
                ("head", models.UUIDField(editable=False, null=True)),
                ("number", models.PositiveSmallIntegerField()),
                (
                    "unit",
                    models.ForeignKey(
                        db_index=False,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="points",
                        to="clinic.unitofstock",
                    ),
                ),
                (
                    "view",
                    models.CharField(
                        choices=[
                            ("front", "Front"),
                            ("right", "Right side"),
                            ("left", "Left side"),
                            ("neck", "Neck"),
                            ("hands", "Hands"),
                            ("picture", "Photograph"),
                        ],
                        max_length=10,
                    ),
                ),
                ("x_dmm", models.SmallIntegerField()),
                ("y_dmm", models.SmallIntegerField()),
                ("reach_x_dmm", models.SmallIntegerField(blank=True, null=True)),
                ("reach_y_dmm", models.SmallIntegerField(blank=True, null=True)),
                (
                    "picture",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="points",
                        to="records.sessionpicture",
                    ),
                ),
                (
                    "marking",
                    models.ForeignKey(
                        blank=True,
                        help_text="The place marked beforehand that this point ticks off.",
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="points",
                        to="records.marking",
                    ),
                ),
                ("chart_version", models.CharField(max_length=10)),
                ("region", models.CharField(max_length=40)),
                (
                    "side",
                    models.CharField(
                        choices=[("left", "Left"), ("right", "Right"), ("midline", "Midline")],
                        max_length=10,
                    ),
                ),
                ("relative_x_permille", models.SmallIntegerField()),
                ("relative_y_permille", models.SmallIntegerField()),
                (
                    "plane",
                    models.CharField(
                        choices=[
                            ("intradermal", "Intradermal"),
                            ("subcutaneous", "Subcutaneous"),
                            ("intramuscular", "Intramuscular"),
                            ("submuscular", "Submuscular"),
                            ("deep_fat", "Deep fat"),
                            ("submucosal", "Submucosal"),
                            ("supraperiosteal", "Supraperiosteal"),
                        ],
                        max_length=20,
                    ),
                ),
                (
                    "technique",
                    models.CharField(
                        choices=[
                            ("bolus", "Bolus"),
                            ("linear_retrograde", "Linear retrograde"),
                            ("linear_anterograde", "Linear anterograde"),
                            ("fanning", "Fanning"),
                            ("cross_hatching", "Cross-hatching"),
                            ("serial_puncture", "Serial puncture"),
                            ("micro_droplet", "Micro-droplet"),
                        ],
                        max_length=20,
                    ),
                ),
                (
                    "instrument",
                    models.CharField(
                        choices=[("needle", "Needle"), ("cannula", "Cannula")], max_length=10
                    ),
                ),
                ("gauge", models.PositiveSmallIntegerField(blank=True, null=True)),
                (
                    "length_mm",
                    models.PositiveSmallIntegerField(blank=True, null=True, verbose_name="length"),
                ),
                (
                    "aspiration",
                    models.CharField(
                        choices=[
                            ("not_done", "Not done"),
                            ("negative", "Done, negative"),
                            ("positive", "Done, positive"),
                        ],
                        max_length=10,
                    ),
                ),
                ("amount", models.PositiveBigIntegerField()),
                ("deviation", models.CharField(blank=True, max_length=300)),
                (
                    "confirmed_odd",
                    models.CharField(
                        blank=True,
                        help_text="What was asked about the amount when it was typed, and confirmed.",
                        max_length=200,
                        verbose_name="confirmed when asked",
                    ),
                ),
                ("tapped_at", models.DateTimeField(help_text="By the clock of the device.")),
                ("logged_at", models.DateTimeField(auto_now_add=True)),
                (
                    "logged_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("changed_at", models.DateTimeField(editable=False, null=True)),
                (
                    "changed_by",
                    models.ForeignKey(
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("removed_at", models.DateTimeField(editable=False, null=True)),
            ],
            options={
                "ordering": ["number"],
                "constraints": [
                    models.UniqueConstraint(fields=("session", "number"), name="point_number_once"),
                    models.CheckConstraint(
                        condition=models.Q(("amount__gt", 0)), name="point_amount_positive"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("reach_x_dmm__isnull", True), ("reach_y_dmm__isnull", True)),
                            models.Q(
                                ("reach_x_dmm__isnull", False), ("reach_y_dmm__isnull", False)
                            ),
                            _connector="OR",
                        ),
                        name="point_reach_whole",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("picture__isnull", False), ("view", "picture")),
                            models.Q(
                                models.Q(("view", "picture"), _negated=True),
                                ("picture__isnull", True),
                            ),
                            _connector="OR",
                        ),
                        name="point_picture_with_its_view",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("view__in", ["front", "right", "left", "neck", "hands", "picture"])
                        ),
                        name="point_view_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("side__in", ["left", "right", "midline"])),
                        name="point_side_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "plane__in",
                                [
                                    "intradermal",
                                    "subcutaneous",
                                    "intramuscular",
                                    "submuscular",
                                    "deep_fat",
                                    "submucosal",
                                    "supraperiosteal",
                                ],
                            )
                        ),
                        name="point_plane_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "technique__in",
                                [
                                    "bolus",
                                    "linear_retrograde",
                                    "linear_anterograde",
                                    "fanning",
                                    "cross_hatching",
                                    "serial_puncture",
                                    "micro_droplet",
                                ],
                            )
                        ),
                        name="point_technique_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("instrument__in", ["needle", "cannula"])),
                        name="point_instrument_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("aspiration__in", ["not_done", "negative", "positive"])
                        ),
                        name="point_aspiration_is_known",
                    ),
                ],
                "indexes": [models.Index(fields=["unit", "session"], name="point_by_unit")],
            },
        ),
        migrations.CreateModel(
            name="Message",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("key", models.CharField(max_length=100, unique=True)),
                ("reference", models.CharField(max_length=32, unique=True)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("confirmation", "Confirmation"),
                            ("reminder", "Reminder"),
                            ("changed", "New time"),
                            ("cancelled", "Cancellation"),
                            ("review", "Review invitation"),
                            ("offer", "Offer of a free time"),
                            ("aftercare", "Aftercare sheet"),
                            ("check_in", "Question of the day after"),
                            ("questions", "Questions before a visit"),
                        ],
                        max_length=14,
                    ),
                ),
                (
                    "patient",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="messages",
                        to="records.patient",
                    ),
                ),
                (
                    "appointment",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="messages",
                        to="records.appointment",
                    ),
                ),
                (
                    "review",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="records.review",
                    ),
                ),
                ("starts_at", models.DateTimeField(null=True)),
                ("written_at", models.DateTimeField()),
                (
                    "written_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("due_at", models.DateTimeField()),
                ("until", models.DateTimeField()),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("waiting", "Waiting"),
                            ("sending", "Being sent"),
                            ("sent", "Sent"),
                            ("to_call", "To call"),
                            ("undeliverable", "Undeliverable"),
                            ("unsure", "Unsure"),
                            ("settled", "Settled"),
                            ("withdrawn", "Withdrawn"),
                            ("known", "Told before"),
                        ],
                        default=records.reminders.enums.MessageState["WAITING"],
                        max_length=13,
                    ),
                ),
                ("next_try_at", models.DateTimeField()),
                ("attempts", models.PositiveSmallIntegerField(default=0)),
                ("at", models.DateTimeField(null=True)),
                (
                    "route",
                    models.CharField(
                        blank=True,
                        choices=[("email", "E-mail"), ("sms", "Text message"), ("call", "Call")],
                        max_length=5,
                    ),
                ),
                ("recipient", models.CharField(blank=True, max_length=254)),
                ("subject", models.CharField(blank=True, max_length=300)),
                ("text", models.TextField(blank=True)),
                ("problem", models.CharField(blank=True, max_length=300)),
                ("token_digest", models.CharField(max_length=64, unique=True)),
                ("settled_at", models.DateTimeField(null=True)),
                (
                    "settled_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("outcome", models.CharField(blank=True, max_length=60)),
            ],
            options={
                "ordering": ["-due_at", "-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "kind__in",
                                [
                                    "confirmation",
                                    "reminder",
                                    "changed",
                                    "cancelled",
                                    "review",
                                    "offer",
                                    "aftercare",
                                    "check_in",
                                    "questions",
                                ],
                            )
                        ),
                        name="message_kind_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "state__in",
                                [
                                    "waiting",
                                    "sending",
                                    "sent",
                                    "to_call",
                                    "undeliverable",
                                    "unsure",
                                    "settled",
                                    "withdrawn",
                                    "known",
                                ],
                            )
                        ),
                        name="message_state_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("state__in", ["sending", "sent", "unsure"]), _negated=True),
                            models.Q(
                                ("at__isnull", False),
                                ("route__in", ["email", "sms"]),
                                models.Q(("recipient", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="message_sent_says_when_and_where",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("state", "settled"), _negated=True),
                            models.Q(("settled_at__isnull", False), ("settled_by__isnull", False)),
                            _connector="OR",
                        ),
                        name="message_settled_says_by_whom",
                    ),
                ],
                "indexes": [
                    models.Index(
                        condition=models.Q(("state", "waiting")),
                        fields=["next_try_at"],
                        name="message_waiting",
                    ),
                    models.Index(
                        condition=models.Q(("state", "sending")),
                        fields=["at"],
                        name="message_sending",
                    ),
                    models.Index(
                        condition=models.Q(("state__in", ["to_call", "undeliverable", "unsure"])),
                        fields=["state"],
                        name="message_to_settle",
                    ),
                    models.Index(fields=["-due_at", "-id"], name="message_by_due"),
                ],
            },
        ),
        migrations.CreateModel(
            name="HandoverSheet",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "occlusion",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="sheets",
                        to="records.occlusion",
                    ),
                ),
                ("entries", models.PositiveIntegerField()),
                ("pdf", models.BinaryField()),
                ("digest", models.CharField(max_length=64)),
                ("made_at", models.DateTimeField()),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        fields=("occlusion", "entries"), name="handover_once_a_number_of_lines"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="ComparisonSheet",
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
                        to="records.photograph",
                    ),
                ),
                (
                    "second",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="records.photograph",
                    ),
                ),
                (
                    "side",
                    models.CharField(
                        blank=True,
                        choices=[("left", "Left"), ("right", "Right"), ("midline", "Midline")],
                        max_length=10,
                    ),
                ),
                (
                    "use",
                    models.CharField(
                        choices=[
                            ("record", "Record"),
                            ("teaching", "Teaching"),
                            ("publication", "Publication"),
                        ],
                        max_length=12,
                    ),
                ),
                ("pdf", models.BinaryField()),
                ("digest", models.CharField(max_length=64)),
                ("made_at", models.DateTimeField()),
                (
                    "made_by",
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
                        condition=models.Q(
                            models.Q(("second__isnull", False), ("side", "")),
                            models.Q(("second__isnull", True), ("side__in", ["right", "left"])),
                            _connector="OR",
                        ),
                        name="comparison_sheet_of_two_or_of_a_side",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("first", models.F("second")), _negated=True),
                        name="comparison_sheet_of_two_photographs",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("use__in", ["record", "teaching", "publication"])),
                        name="comparison_sheet_use_is_known",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="PhotographMark",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "photograph",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="marks",
                        to="records.photograph",
                    ),
                ),
                (
                    "landmark",
                    models.CharField(
                        choices=[
                            ("eye_in_right", "Inner corner of the right eye"),
                            ("eye_in_left", "Inner corner of the left eye"),
                            ("eye_out_right", "Outer corner of the right eye"),
                            ("eye_out_left", "Outer corner of the left eye"),
                            ("nose_base", "Where nose and upper lip meet"),
                            ("ear_right", "Notch above the flap of the right ear"),
                            ("ear_left", "Notch above the flap of the left ear"),
                            ("jaw_right", "Right angle of the jaw"),
                            ("jaw_left", "Left angle of the jaw"),
                            ("breastbone", "Notch above the breastbone"),
                            ("knuckle_right", "Knuckle of the right middle finger"),
                            ("knuckle_left", "Knuckle of the left middle finger"),
                            ("fingertip_right", "Tip of the right middle finger"),
                        ],
                        max_length=20,
                    ),
                ),
                (
                    "x",
                    models.PositiveIntegerField(
                        validators=[django.core.validators.MaxValueValidator(50000000)]
                    ),
                ),
                (
                    "y",
                    models.PositiveIntegerField(
                        validators=[django.core.validators.MaxValueValidator(50000000)]
                    ),
                ),
                ("placed_at", models.DateTimeField()),
                (
                    "placed_by",
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
                    models.UniqueConstraint(
                        fields=("photograph", "landmark"), name="photograph_mark_once_a_landmark"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "landmark__in",
                                [
                                    "eye_in_right",
                                    "eye_in_left",
                                    "eye_out_right",
                                    "eye_out_left",
                                    "nose_base",
                                    "ear_right",
                                    "ear_left",
                                    "jaw_right",
                                    "jaw_left",
                                    "breastbone",
                                    "knuckle_right",
                                    "knuckle_left",
                                    "fingertip_right",
                                ],
                            )
                        ),
                        name="photograph_mark_landmark_is_known",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="PhotographUse",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "photograph",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="uses",
                        to="records.photograph",
                    ),
                ),
                (
                    "use",
                    models.CharField(
                        choices=[
                            ("record", "Record"),
                            ("teaching", "Teaching"),
                            ("publication", "Publication"),
                        ],
                        max_length=12,
                    ),
                ),
                ("given_at", models.DateTimeField()),
                ("given_on", models.DateField(help_text="The clinic's own day of it.")),
                (
                    "noted_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("until_on", models.DateField(blank=True, null=True, verbose_name="last day")),
                ("withdrawn_at", models.DateTimeField(editable=False, null=True)),
                (
                    "withdrawn_by",
                    models.ForeignKey(
                        editable=False,
                        null=True,
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
                        condition=models.Q(("use__in", ["record", "teaching", "publication"])),
                        name="photograph_use_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("until_on__isnull", True),
                            ("until_on__gte", models.F("given_on")),
                            _connector="OR",
                        ),
                        name="photograph_use_ends_after_it_begins",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("withdrawn_at__isnull", True), ("withdrawn_by__isnull", True)
                            ),
                            models.Q(
                                ("withdrawn_at__isnull", False), ("withdrawn_by__isnull", False)
                            ),
                            _connector="OR",
                        ),
                        name="photograph_use_withdrawn_by_somebody",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="PlanLine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
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
                    "side",
                    models.CharField(
                        choices=[("left", "Left"), ("right", "Right"), ("midline", "Midline")],
                        max_length=10,
                    ),
                ),
                (
                    "product",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="clinic.product",
                    ),
                ),
                (
                    "plane",
                    models.CharField(
                        choices=[
                            ("intradermal", "Intradermal"),
                            ("subcutaneous", "Subcutaneous"),
                            ("intramuscular", "Intramuscular"),
                            ("submuscular", "Submuscular"),
                            ("deep_fat", "Deep fat"),
                            ("submucosal", "Submucosal"),
                            ("supraperiosteal", "Supraperiosteal"),
                        ],
                        max_length=20,
                    ),
                ),
                (
                    "technique",
                    models.CharField(
                        choices=[
                            ("bolus", "Bolus"),
                            ("linear_retrograde", "Linear retrograde"),
                            ("linear_anterograde", "Linear anterograde"),
                            ("fanning", "Fanning"),
                            ("cross_hatching", "Cross-hatching"),
                            ("serial_puncture", "Serial puncture"),
                            ("micro_droplet", "Micro-droplet"),
                        ],
                        max_length=20,
                    ),
                ),
                (
                    "instrument",
                    models.CharField(
                        choices=[("needle", "Needle"), ("cannula", "Cannula")], max_length=10
                    ),
                ),
                (
                    "gauge",
                    models.PositiveSmallIntegerField(
                        blank=True,
                        null=True,
                        validators=[
                            django.core.validators.MinValueValidator(14),
                            django.core.validators.MaxValueValidator(40),
                        ],
                    ),
                ),
                (
                    "length_mm",
                    models.PositiveSmallIntegerField(
                        blank=True,
                        null=True,
                        validators=[
                            django.core.validators.MinValueValidator(1),
                            django.core.validators.MaxValueValidator(200),
                        ],
                        verbose_name="length",
                    ),
                ),
                ("amount", models.PositiveBigIntegerField()),
                ("note", models.CharField(blank=True, max_length=200)),
                (
                    "stage",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lines",
                        to="records.planstage",
                    ),
                ),
            ],
            options={
                "ordering": ["id"],
                "abstract": False,
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("amount__gt", 0)), name="planline_amount_positive"
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
                        name="planline_region_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("side__in", ["left", "right", "midline"]),
                            models.Q(
                                (
                                    "region__in",
                                    [
                                        "temple",
                                        "brow",
                                        "orbital",
                                        "lateral_canthal",
                                        "infraorbital",
                                        "zygomatic",
                                        "nasolabial",
                                        "oral_commissure",
                                        "buccal",
                                        "parotid_masseteric",
                                        "prejowl",
                                        "ear",
                                        "sternocleidomastoid",
                                        "lateral_cervical",
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
                                ),
                                ("side", planning.vocabulary.Side["MIDLINE"]),
                                _negated=True,
                            ),
                        ),
                        name="planline_side_of_its_region",
                        violation_error_message="This region comes in pairs: choose left or right.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "plane__in",
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
                            (
                                "technique__in",
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
                            ("instrument__in", ["needle", "cannula"]),
                        ),
                        name="planline_way_is_known",
                    ),
                ],
            },
        ),
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
                (
                    "review",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="own_answers",
                        to="records.review",
                    ),
                ),
                ("grades", models.JSONField(default=dict)),
                ("satisfaction", models.PositiveSmallIntegerField(null=True)),
                ("answered_at", models.DateTimeField()),
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
                        condition=models.Q(
                            ("satisfaction__isnull", True),
                            ("satisfaction__range", (0, 10)),
                            _connector="OR",
                        ),
                        name="own_answers_satisfaction_in_range",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="ReviewDate",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "review",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="dates",
                        to="records.review",
                    ),
                ),
                ("earliest_on", models.DateField(verbose_name="not before")),
                ("due_on", models.DateField(verbose_name="due")),
                ("latest_on", models.DateField(verbose_name="overdue after")),
                (
                    "cause",
                    models.CharField(
                        choices=[
                            ("scheduled", "Planned"),
                            ("moved", "Moved by hand"),
                            ("amended", "Moved with an addendum"),
                            ("recomputed", "Reckoned anew"),
                        ],
                        max_length=12,
                    ),
                ),
                ("reason", models.TextField()),
                ("at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        null=True,
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
                            ("earliest_on__lte", models.F("due_on")),
                            ("latest_on__gte", models.F("due_on")),
                        ),
                        name="review_date_within_window",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("cause__in", ["scheduled", "moved", "amended", "recomputed"])
                        ),
                        name="review_date_cause_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("reason", ""), _negated=True),
                        name="review_date_says_why",
                        violation_error_message="Say why the date is changed.",
                    ),
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
                (
                    "review",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="drafts",
                        to="records.review",
                    ),
                ),
                (
                    "author",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("typed", models.JSONField()),
                ("saved_at", models.DateTimeField()),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        fields=("review", "author"), name="review_draft_one_an_author"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="AdverseEvent",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "patient",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="adverse_events",
                        to="records.patient",
                    ),
                ),
                (
                    "session",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="adverse_events",
                        to="records.treatmentsession",
                    ),
                ),
                (
                    "lot",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="adverse_events",
                        to="clinic.lot",
                        verbose_name="suspected lot",
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
                        verbose_name="suspected product",
                    ),
                ),
                (
                    "unit",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="adverse_events",
                        to="clinic.unitofstock",
                        verbose_name="suspected unit",
                    ),
                ),
                ("region", models.CharField(blank=True, max_length=40)),
                (
                    "side",
                    models.CharField(
                        blank=True,
                        choices=[("left", "Left"), ("right", "Right"), ("midline", "Midline")],
                        max_length=10,
                    ),
                ),
                ("onset_on", models.DateField(verbose_name="first signs")),
                (
                    "grade",
                    models.CharField(
                        choices=[
                            ("1", "Grade 1, mild"),
                            ("2", "Grade 2, moderate"),
                            ("3", "Grade 3, severe"),
                            ("4", "Grade 4, life-threatening"),
                            ("5", "Grade 5, death"),
                        ],
                        max_length=1,
                    ),
                ),
                (
                    "seriousness",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("not_serious", "Not serious"),
                            ("death", "Death"),
                            ("life_threatening", "Life-threatening"),
                            ("hospital", "Hospital stay, or a longer one"),
                            (
                                "disability",
                                "Lasting or significant disability, loss of sight included",
                            ),
                            ("birth_defect", "Congenital anomaly"),
                            (
                                "important",
                                "Otherwise medically important, or treated to prevent the above",
                            ),
                        ],
                        help_text="The gravest that holds. Severe is not the same as serious.",
                        max_length=20,
                    ),
                ),
                (
                    "causality",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("certain", "Certain"),
                            ("probable", "Probable"),
                            ("possible", "Possible"),
                            ("unlikely", "Unlikely"),
                            ("unclassified", "Not yet classified: more is needed"),
                            ("unassessable", "Cannot be assessed"),
                        ],
                        max_length=20,
                        verbose_name="product as the cause",
                    ),
                ),
                (
                    "next_check_on",
                    models.DateField(blank=True, null=True, verbose_name="next check"),
                ),
                ("signs", models.TextField(help_text="What was seen and felt, in plain words.")),
                ("actions", models.TextField(blank=True, help_text="What was done about it.")),
                (
                    "outcome",
                    models.CharField(
                        choices=[
                            ("ongoing", "Ongoing"),
                            ("recovering", "Recovering"),
                            ("recovered", "Recovered"),
                            ("with_sequelae", "Recovered with lasting effects"),
                            ("fatal", "Fatal"),
                            ("unknown", "Unknown"),
                        ],
                        default=records.adverse_events.enums.EventOutcome["ONGOING"],
                        max_length=20,
                    ),
                ),
                ("recorded_at", models.DateTimeField()),
                (
                    "recorded_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("closed_at", models.DateTimeField(editable=False, null=True)),
                (
                    "closed_by",
                    models.ForeignKey(
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "points",
                    models.ManyToManyField(
                        blank=True, related_name="adverse_events", to="records.injectionentry"
                    ),
                ),
            ],
            options={
                "ordering": ["-onset_on", "-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("grade__in", ["1", "2", "3", "4", "5"])),
                        name="adverse_event_grade_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "outcome__in",
                                [
                                    "ongoing",
                                    "recovering",
                                    "recovered",
                                    "with_sequelae",
                                    "fatal",
                                    "unknown",
                                ],
                            )
                        ),
                        name="adverse_event_outcome_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "seriousness__in",
                                [
                                    "",
                                    "not_serious",
                                    "death",
                                    "life_threatening",
                                    "hospital",
                                    "disability",
                                    "birth_defect",
                                    "important",
                                ],
                            )
                        ),
                        name="adverse_event_seriousness_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "causality__in",
                                [
                                    "",
                                    "certain",
                                    "probable",
                                    "possible",
                                    "unlikely",
                                    "unclassified",
                                    "unassessable",
                                ],
                            )
                        ),
                        name="adverse_event_causality_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("grade", "5"), _negated=True),
                            models.Q(("seriousness", "not_serious"), _negated=True),
                            _connector="OR",
                        ),
                        name="adverse_event_death_is_serious",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("unit__isnull", True), ("lot__isnull", False), _connector="OR"
                        ),
                        name="adverse_event_unit_with_its_lot",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("product__isnull", True), ("lot__isnull", True), _connector="OR"
                        ),
                        name="adverse_event_product_or_lot",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("signs", ""), _negated=True),
                        name="adverse_event_has_signs",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("closed_at__isnull", True), ("closed_by__isnull", True)),
                            models.Q(
                                ("closed_at__isnull", False),
                                ("closed_by__isnull", False),
                                models.Q(("outcome__in", ["ongoing", "recovering"]), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="adverse_event_closed_with_outcome",
                        violation_error_message="Say how it ended before you close it.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Answer",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "message",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="answers",
                        to="records.message",
                    ),
                ),
                (
                    "appointment",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="answers",
                        to="records.appointment",
                    ),
                ),
                ("starts_at", models.DateTimeField()),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("comes", "Confirmed"),
                            ("change", "Asks for a change"),
                            ("cannot", "Cannot come"),
                        ],
                        max_length=7,
                    ),
                ),
                ("note", models.CharField(blank=True, max_length=500)),
                ("at", models.DateTimeField()),
                ("settled_at", models.DateTimeField(null=True)),
                (
                    "settled_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-at", "-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("kind__in", ["comes", "change", "cannot"])),
                        name="answer_kind_is_known",
                    )
                ],
                "indexes": [
                    models.Index(fields=["appointment", "-at"], name="answer_by_appointment")
                ],
            },
        ),
        migrations.CreateModel(
            name="ReviewRecord",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                (
                    "review",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="records",
                        to="records.review",
                    ),
                ),
                ("seen_on", models.DateField(verbose_name="seen on")),
                ("seen", models.TextField(verbose_name="what was seen")),
                (
                    "patient_answer",
                    models.CharField(
                        choices=[
                            ("tablet", "By the patient, on the tablet"),
                            ("asked", "Asked by the injector"),
                            ("none", "Not asked"),
                        ],
                        max_length=10,
                    ),
                ),
                (
                    "own_answers",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="records",
                        to="records.ownanswers",
                    ),
                ),
                ("satisfaction", models.PositiveSmallIntegerField(null=True)),
                ("has_event", models.BooleanField(verbose_name="adverse event")),
                (
                    "top_up",
                    models.CharField(
                        choices=[
                            ("none", "No top-up"),
                            ("wait", "Wait and look again"),
                            ("top_up", "Top up"),
                        ],
                        max_length=10,
                    ),
                ),
                ("why_again", models.CharField(blank=True, max_length=300)),
                ("rating_count", models.PositiveSmallIntegerField(default=0)),
                ("made_at", models.DateTimeField()),
                (
                    "made_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-seen_on", "-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("seen", ""), _negated=True),
                        name="review_record_says_what_was_seen",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("top_up__in", ["none", "wait", "top_up"])),
                        name="review_record_top_up_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("own_answers__isnull", False), ("patient_answer", "tablet")),
                            models.Q(("own_answers__isnull", True), ("patient_answer", "asked")),
                            models.Q(
                                ("own_answers__isnull", True),
                                ("patient_answer", "none"),
                                ("satisfaction__isnull", True),
                            ),
                            _connector="OR",
                        ),
                        name="review_record_whose_answers",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("satisfaction__isnull", True),
                            ("satisfaction__range", (0, 10)),
                            _connector="OR",
                        ),
                        name="review_record_satisfaction_in_range",
                    ),
                ],
                "indexes": [models.Index(fields=["seen_on"], name="review_record_by_day")],
            },
        ),
        migrations.CreateModel(
            name="CheckIn",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "session",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="check_in",
                        to="records.treatmentsession",
                    ),
                ),
                (
                    "message",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="check_in",
                        to="records.message",
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="AftercareSheet",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "session",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="aftercare_sheets",
                        to="records.treatmentsession",
                    ),
                ),
                (
                    "way",
                    models.CharField(
                        choices=[
                            ("printed", "Printed"),
                            ("email", "By message"),
                            ("shown", "Shown as a code"),
                        ],
                        max_length=10,
                    ),
                ),
                ("content", models.JSONField()),
                ("pdf", models.BinaryField(null=True)),
                ("digest", models.CharField(blank=True, max_length=64)),
                (
                    "message",
                    models.OneToOneField(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="aftercare_sheet",
                        to="records.message",
                    ),
                ),
                ("reference", models.CharField(blank=True, max_length=32, null=True, unique=True)),
                (
                    "token_digest",
                    models.CharField(blank=True, max_length=64, null=True, unique=True),
                ),
                ("given_at", models.DateTimeField()),
                (
                    "given_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-given_at", "-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("message__isnull", True),
                                ("pdf__isnull", False),
                                ("reference__isnull", True),
                                ("way", "printed"),
                            ),
                            models.Q(
                                ("message__isnull", False),
                                ("pdf__isnull", True),
                                ("reference__isnull", True),
                                ("way", "email"),
                            ),
                            models.Q(
                                ("message__isnull", True),
                                ("pdf__isnull", True),
                                ("reference__isnull", False),
                                ("way", "shown"),
                            ),
                            _connector="OR",
                        ),
                        name="aftercare_sheet_by_its_way",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Addendum",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "session",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="addenda",
                        to="records.treatmentsession",
                    ),
                ),
                (
                    "point",
                    models.ForeignKey(
                        blank=True,
                        help_text="The point it concerns, if it is about one.",
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="addenda",
                        to="records.injectionentry",
                    ),
                ),
                ("reason", models.CharField(help_text="Why the note needs it.", max_length=300)),
                ("text", models.TextField()),
                ("written_at", models.DateTimeField()),
                (
                    "author",
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
                            models.Q(("reason", ""), _negated=True),
                            models.Q(("text", ""), _negated=True),
                        ),
                        name="addendum_says_what_and_why",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="OcclusionEntry",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("key", models.UUIDField(editable=False, unique=True)),
                ("at", models.DateTimeField()),
                ("tablet_at", models.DateTimeField()),
                ("received_at", models.DateTimeField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "occlusion",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="entries",
                        to="records.occlusion",
                    ),
                ),
                (
                    "what",
                    models.CharField(
                        choices=[
                            ("first_sign", "First sign"),
                            ("signs", "Skin signs"),
                            ("refill", "Capillary refill"),
                            ("pain", "Pain"),
                            ("dose", "Hyaluronidase"),
                            ("warmth", "Warm compress"),
                            ("massage", "Massage"),
                            ("aspirin", "Aspirin"),
                            ("step", "Step of the protocol"),
                            ("call", "Call"),
                            ("photo", "Photograph"),
                            ("note", "Note"),
                            ("timer", "Look again after"),
                            ("emergency", "Emergency: vision or nerve signs"),
                            ("ended", "Log ended"),
                            ("discarded", "Opened by mistake"),
                        ],
                        max_length=20,
                    ),
                ),
                ("signs", models.JSONField(blank=True, default=list)),
                (
                    "refill_tenths",
                    models.PositiveSmallIntegerField(null=True, verbose_name="refill"),
                ),
                (
                    "other_tenths",
                    models.PositiveSmallIntegerField(
                        null=True, verbose_name="refill of the other side"
                    ),
                ),
                ("pain", models.PositiveSmallIntegerField(null=True)),
                ("dose_centiunits", models.PositiveIntegerField(null=True, verbose_name="dose")),
                ("diluent_ul", models.PositiveIntegerField(null=True, verbose_name="diluent")),
                (
                    "unit",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="occlusion_doses",
                        to="clinic.unitofstock",
                    ),
                ),
                ("lot", models.CharField(blank=True, max_length=60)),
                ("region", models.CharField(blank=True, max_length=40)),
                (
                    "side",
                    models.CharField(
                        blank=True,
                        choices=[("left", "Left"), ("right", "Right"), ("midline", "Midline")],
                        max_length=10,
                    ),
                ),
                ("place", models.CharField(blank=True, max_length=120)),
                ("minutes", models.PositiveSmallIntegerField(null=True)),
                ("moment", models.DateTimeField(null=True, verbose_name="seen at")),
                ("picture", models.UUIDField(null=True)),
                ("whom", models.CharField(blank=True, max_length=120)),
                ("text", models.TextField(blank=True)),
                (
                    "grade",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("1", "Grade 1, mild"),
                            ("2", "Grade 2, moderate"),
                            ("3", "Grade 3, severe"),
                            ("4", "Grade 4, life-threatening"),
                            ("5", "Grade 5, death"),
                        ],
                        max_length=1,
                    ),
                ),
                (
                    "event",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="occlusion_ends",
                        to="records.adverseevent",
                    ),
                ),
            ],
            options={
                "ordering": ["at", "id"],
                "abstract": False,
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "what__in",
                                [
                                    "first_sign",
                                    "signs",
                                    "refill",
                                    "pain",
                                    "dose",
                                    "warmth",
                                    "massage",
                                    "aspirin",
                                    "step",
                                    "call",
                                    "photo",
                                    "note",
                                    "timer",
                                    "emergency",
                                    "ended",
                                    "discarded",
                                ],
                            )
                        ),
                        name="occlusion_entry_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("what", "refill"),
                                ("refill_tenths__range", (1, 300)),
                                models.Q(("refill_tenths__isnull", True), _negated=True),
                            ),
                            models.Q(
                                models.Q(("what", "refill"), _negated=True),
                                ("refill_tenths__isnull", True),
                            ),
                            _connector="OR",
                        ),
                        name="occlusion_refill_has_refill_tenths",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("what", "pain"),
                                ("pain__range", (0, 10)),
                                models.Q(("pain__isnull", True), _negated=True),
                            ),
                            models.Q(
                                models.Q(("what", "pain"), _negated=True), ("pain__isnull", True)
                            ),
                            _connector="OR",
                        ),
                        name="occlusion_pain_has_pain",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("what", "dose"),
                                ("dose_centiunits__gt", 0),
                                models.Q(("dose_centiunits__isnull", True), _negated=True),
                            ),
                            models.Q(
                                models.Q(("what", "dose"), _negated=True),
                                ("dose_centiunits__isnull", True),
                            ),
                            _connector="OR",
                        ),
                        name="occlusion_dose_has_dose_centiunits",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("what", "timer"),
                                ("minutes__range", (15, 60)),
                                models.Q(("minutes__isnull", True), _negated=True),
                            ),
                            models.Q(
                                models.Q(("what", "timer"), _negated=True),
                                ("minutes__isnull", True),
                            ),
                            _connector="OR",
                        ),
                        name="occlusion_timer_has_minutes",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("what", "first_sign"),
                                ("moment__isnull", False),
                                models.Q(("moment__isnull", True), _negated=True),
                            ),
                            models.Q(
                                models.Q(("what", "first_sign"), _negated=True),
                                ("moment__isnull", True),
                            ),
                            _connector="OR",
                        ),
                        name="occlusion_first_sign_has_moment",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("what", "photo"),
                                ("picture__isnull", False),
                                models.Q(("picture__isnull", True), _negated=True),
                            ),
                            models.Q(
                                models.Q(("what", "photo"), _negated=True),
                                ("picture__isnull", True),
                            ),
                            _connector="OR",
                        ),
                        name="occlusion_photo_has_picture",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("what", "ended"),
                                ("event__isnull", False),
                                models.Q(("event__isnull", True), _negated=True),
                            ),
                            models.Q(
                                models.Q(("what", "ended"), _negated=True), ("event__isnull", True)
                            ),
                            _connector="OR",
                        ),
                        name="occlusion_ended_has_event",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("what", "call"), _negated=True),
                            models.Q(("whom", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="occlusion_call_names_whom",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("what__in", ["note", "step"]), _negated=True),
                            models.Q(("text", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="occlusion_note_says_something",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="CaseEvent",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "case",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="events",
                        to="records.recallcase",
                    ),
                ),
                (
                    "event",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="recalls",
                        to="records.adverseevent",
                    ),
                ),
                ("added_at", models.DateTimeField()),
            ],
            options={
                "ordering": ["id"],
                "constraints": [
                    models.UniqueConstraint(fields=("case", "event"), name="recall_event_once")
                ],
            },
        ),
        migrations.CreateModel(
            name="ContactAttempt",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "review",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="attempts",
                        to="records.review",
                    ),
                ),
                (
                    "event",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="attempts",
                        to="records.adverseevent",
                    ),
                ),
                (
                    "way",
                    models.CharField(
                        choices=[
                            ("phone", "Phone"),
                            ("sms", "Text message"),
                            ("email", "E-mail"),
                            ("letter", "Letter"),
                        ],
                        max_length=10,
                        verbose_name="by",
                    ),
                ),
                (
                    "outcome",
                    models.CharField(
                        choices=[
                            ("reached", "Reached"),
                            ("no_answer", "No answer"),
                            ("message_left", "Message left"),
                            ("wrong", "Wrong number or address"),
                            ("later", "To be called later"),
                        ],
                        max_length=14,
                    ),
                ),
                (
                    "again_at",
                    models.DateTimeField(blank=True, null=True, verbose_name="call again from"),
                ),
                (
                    "note",
                    models.CharField(blank=True, help_text="Nothing clinical.", max_length=200),
                ),
                ("used", models.TextField(blank=True)),
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
                            models.Q(("event__isnull", True), ("review__isnull", False)),
                            models.Q(("event__isnull", False), ("review__isnull", True)),
                            _connector="OR",
                        ),
                        name="attempt_about_one_thing",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("way__in", ["phone", "sms", "email", "letter"])),
                        name="attempt_way_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            (
                                "outcome__in",
                                ["reached", "no_answer", "message_left", "wrong", "later"],
                            )
                        ),
                        name="attempt_outcome_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("outcome", "no_answer"), _negated=True),
                            ("way", "phone"),
                            _connector="OR",
                        ),
                        name="attempt_no_answer_by_phone",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("outcome", "later"), _negated=True),
                            ("again_at__isnull", False),
                            _connector="OR",
                        ),
                        name="attempt_later_says_when",
                        violation_error_message="Say from when on the patient is to be called again.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("outcome__in", ["reached", "wrong"]), _negated=True),
                            ("again_at__isnull", True),
                            _connector="OR",
                        ),
                        name="attempt_settled_names_no_time",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="RegionRating",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "record",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="ratings",
                        to="records.reviewrecord",
                    ),
                ),
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
                    "rater",
                    models.CharField(
                        choices=[("injector", "Injector"), ("patient", "Patient")], max_length=10
                    ),
                ),
                ("grade", models.PositiveSmallIntegerField()),
                ("label", models.CharField(max_length=40)),
                (
                    "scheme",
                    models.CharField(
                        choices=[("gais_1_best", "Global Aesthetic Improvement Scale, 1 is best")],
                        max_length=20,
                    ),
                ),
            ],
            options={
                "ordering": ["id"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("record", "region", "rater"), name="region_rating_once_a_rater"
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
                        name="region_rating_region_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("rater__in", ["injector", "patient"])),
                        name="region_rating_rater_is_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("scheme", "gais_1_best"),
                            models.Q(
                                models.Q(("grade", 1), ("label", "Very much improved")),
                                models.Q(("grade", 2), ("label", "Much improved")),
                                models.Q(("grade", 3), ("label", "Improved")),
                                models.Q(("grade", 4), ("label", "No change")),
                                models.Q(("grade", 5), ("label", "Worse")),
                                _connector="OR",
                            ),
                        ),
                        name="region_rating_word_of_its_scheme",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="CarryOver",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "record",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="carried_over",
                        to="records.reviewrecord",
                    ),
                ),
                (
                    "plan",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="records.plan",
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
        ),
        migrations.CreateModel(
            name="ReviewAsk",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "review",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="asks",
                        to="records.review",
                    ),
                ),
                (
                    "session",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="review_asks",
                        to="records.treatmentsession",
                    ),
                ),
                (
                    "rule",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="asks",
                        to="clinic.reviewrule",
                    ),
                ),
                (
                    "event",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="review_asks",
                        to="records.adverseevent",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("event__isnull", True)),
                        fields=("session", "rule"),
                        name="review_ask_once_a_rule",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("event__isnull", True), ("rule__isnull", True)),
                        fields=("session",),
                        name="review_ask_once_generally",
                    ),
                    models.UniqueConstraint(fields=("event",), name="review_ask_once_an_event"),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("event__isnull", True), ("rule__isnull", False), _connector="OR"
                        ),
                        name="review_ask_event_by_a_rule",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="CheckInAnswer",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "check_in",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="answers",
                        to="records.checkin",
                    ),
                ),
                (
                    "feeling",
                    models.CharField(
                        choices=[("well", "All is well"), ("worried", "Something worries me")],
                        max_length=10,
                    ),
                ),
                ("signs", models.JSONField(default=list)),
                ("note", models.CharField(blank=True, max_length=500)),
                ("haste", models.PositiveSmallIntegerField(default=0)),
                ("at", models.DateTimeField()),
                ("settled_at", models.DateTimeField(editable=False, null=True)),
                (
                    "settled_by",
                    models.ForeignKey(
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "done",
                    models.CharField(blank=True, max_length=500, verbose_name="What was done"),
                ),
            ],
            options={
                "ordering": ["-at", "-id"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("feeling", "well"), ("haste", 0)),
                            models.Q(("feeling", "worried"), ("haste__in", [1, 2, 3])),
                            _connector="OR",
                        ),
                        name="check_in_answer_worry_has_haste",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("done", ""),
                                ("settled_at__isnull", True),
                                ("settled_by__isnull", True),
                            ),
                            models.Q(
                                ("settled_at__isnull", False),
                                ("settled_by__isnull", False),
                                models.Q(("done", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="check_in_answer_settled_says_what",
                        violation_error_message="Say what was done.",
                    ),
                ],
                "indexes": [
                    models.Index(
                        condition=models.Q(("feeling", "worried"), ("settled_at__isnull", True)),
                        fields=["at"],
                        name="check_in_answer_waiting",
                    )
                ],
            },
        ),
    ]
