"""What the clinic has decided for itself: identity, open days, review rule, limits it shows."""

from datetime import time

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q

from clinic.policy.validators import (
    addresses_in,
    validate_addresses,
    validate_currency,
    validate_open_weekdays,
)
from planning.allocation.shelf import Preference
from planning.care import CareKind
from planning.quiet_hours import QuietHours
from planning.review_dates import IntervalUnit

INTERVAL_UNITS = [(unit.value, f"{unit.value}s") for unit in IntervalUnit]


def monday_to_friday() -> list[int]:
    return [1, 2, 3, 4, 5]


def _wait_field(label: str) -> models.PositiveSmallIntegerField:
    return models.PositiveSmallIntegerField(
        label,
        null=True,
        blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(3650)],
    )


class ClinicPolicy(models.Model):
    """The one row of clinic-wide settings, edited by the owner."""

    id = models.PositiveSmallIntegerField(primary_key=True, default=1, editable=False)
    name = models.CharField("clinic", max_length=200, default="Our clinic")
    address = models.TextField(blank=True, help_text="Printed on every note.")
    phone = models.CharField(max_length=40, blank=True)
    email = models.EmailField(blank=True)
    emergency_contact = models.CharField(
        max_length=200, blank=True, help_text="Who a patient calls when something looks wrong."
    )
    open_weekdays = models.JSONField(
        default=monday_to_friday,
        validators=[validate_open_weekdays],
        help_text="1 is Monday, 7 is Sunday (ISO 8601).",
    )
    review_count = models.PositiveSmallIntegerField(
        "review after", default=14, validators=[MinValueValidator(1), MaxValueValidator(400)]
    )
    review_unit = models.CharField(
        max_length=10, choices=INTERVAL_UNITS, default=IntervalUnit.DAY.value
    )
    review_lead_days = models.PositiveSmallIntegerField(
        validators=[MaxValueValidator(400)],
        default=7,
        help_text="How many days ahead a review is shown as due soon.",
    )
    review_grace_days = models.PositiveSmallIntegerField(
        validators=[MaxValueValidator(400)],
        default=7,
        help_text="How many days after its date a review counts as overdue.",
    )
    top_up_days = models.PositiveSmallIntegerField(
        validators=[MaxValueValidator(400)],
        default=42,
        help_text="So long after a treatment, another with the same kind of product is a top-up.",
    )
    contact_tries = models.PositiveSmallIntegerField(
        validators=[MinValueValidator(1), MaxValueValidator(20)],
        default=3,
        help_text="After so many tries in a row that did not reach them, a patient is written to "
        "or the review is excused. Common practice, no source.",
    )
    top_up_wait_days = models.PositiveSmallIntegerField(
        "top-up not before",
        null=True,
        blank=True,
        default=14,
        validators=[MaxValueValidator(400)],
        help_text="Days after the treatment. Empty: not checked.",
    )
    cooling_off_days = models.PositiveSmallIntegerField(
        "cooling-off",
        null=True,
        blank=True,
        validators=[MaxValueValidator(400)],
        help_text="Days between the consultation and a first treatment. Empty: not checked.",
    )
    history_months = models.PositiveSmallIntegerField(
        "medical history asked anew after",
        null=True,
        blank=True,
        default=12,
        validators=[MinValueValidator(1), MaxValueValidator(120)],
        help_text="Months since the patient last stood by it. Empty: not checked.",
    )
    cooling_off_may_be_waived = models.BooleanField(
        "an injector may treat within the cooling-off time",
        default=False,
        help_text="With a reason in writing. Otherwise nobody may. Check your local law.",
    )
    quiet_from = models.TimeField(
        "nobody is written to from",
        default=time(20),
        help_text="Quiet hours: what is due in them waits, and no offer ends in them.",
    )
    quiet_until = models.TimeField(
        "until",
        default=time(8),
        help_text="The same time twice: no quiet hours. Common practice, no source.",
    )
    offer_minutes = models.PositiveSmallIntegerField(
        "an offered time is held for",
        default=120,
        validators=[MinValueValidator(5), MaxValueValidator(10_080)],
        help_text="Minutes outside of quiet hours. Common practice, no source.",
    )
    offer_margin_minutes = models.PositiveSmallIntegerField(
        "at most until",
        default=60,
        validators=[MaxValueValidator(2_880)],
        help_text="Minutes before the start. Common practice, no source.",
    )
    offers_go_on = models.BooleanField(
        "offer a time that is not taken to the next on the waiting list",
        default=True,
        help_text="By itself. Otherwise the front desk is asked.",
    )
    holiday_country = models.CharField(
        max_length=2, blank=True, help_text="Whose public holidays the clinic keeps."
    )
    holiday_part = models.CharField(
        max_length=20,
        blank=True,
        help_text="Where parts of the country have holidays of their own.",
    )
    expiry_warning_days = models.PositiveSmallIntegerField(
        validators=[MaxValueValidator(3650)],
        default=60,
        help_text="How many days ahead an expiry date is pointed out.",
    )
    expiry_urgent_days = models.PositiveSmallIntegerField(
        validators=[MaxValueValidator(3650)],
        default=14,
        help_text="How many days ahead an expiry date becomes urgent.",
    )
    reorder_weeks = models.PositiveSmallIntegerField(
        validators=[MinValueValidator(1), MaxValueValidator(104)],
        default=12,
        help_text="How many past weeks the use per week is reckoned from.",
    )
    reorder_spare_days = models.PositiveSmallIntegerField(
        validators=[MaxValueValidator(365)],
        default=7,
        help_text="How many days of use are kept in reserve beyond the delivery time.",
    )
    reading_hours = models.PositiveSmallIntegerField(
        validators=[MinValueValidator(1), MaxValueValidator(168)],
        default=24,
        help_text="A fridge without a reading for so long is pointed out.",
    )
    minimum_age_years = models.PositiveSmallIntegerField(
        # Fewer years are a slip of the keys. Common practice, no source.
        validators=[MinValueValidator(12), MaxValueValidator(120)],
        default=18,
        help_text="Check your local law: some places set a higher age.",
    )
    toxin_interval_days = models.PositiveSmallIntegerField(
        validators=[MaxValueValidator(3650)],
        default=90,
        help_text="Shortest time between two toxin treatments.",
    )
    toxin_ceiling_centiunits = models.PositiveIntegerField(
        "toxin of one product in three months",
        default=40_000,
        validators=[MinValueValidator(1)],
        help_text="Toxin of one product in any three months, in hundredths of a unit.",
    )
    filler_ul_per_60_kg_year = models.PositiveIntegerField(
        "filler per 60 kg in a rolling year",
        null=True,
        blank=True,
        help_text="Filler per 60 kg of body weight and rolling year, in microlitres. "
        "Empty: not checked.",
    )
    filler_session_ul = models.PositiveIntegerField(
        "filler in a session",
        null=True,
        blank=True,
        validators=[MinValueValidator(1)],
        help_text="Filler in one session, in microlitres. Empty: not checked.",
    )
    toxin_session_centiunits = models.PositiveIntegerField(
        "toxin in a session",
        null=True,
        blank=True,
        validators=[MinValueValidator(1)],
        help_text="Toxin of one kind in one session, in hundredths of a unit. Empty: not checked.",
    )
    side_difference_percent = models.PositiveSmallIntegerField(
        "left and right apart",
        null=True,
        blank=True,
        default=25,
        validators=[MinValueValidator(1), MaxValueValidator(100)],
        help_text="By how much of the larger side left and right may differ. Empty: not checked.",
    )
    wait_vaccine_days = _wait_field("after a vaccine")
    wait_dental_days = _wait_field("after dental work")
    wait_skin_days = _wait_field("after a laser or peel")
    wait_surgery_days = _wait_field("after surgery")
    plan_preference = models.CharField(
        "units of a plan are chosen for",
        max_length=10,
        choices=Preference.choices(),
        default=Preference.WASTE,
        help_text="What is made least when a plan chooses packs; the other decides between equals.",
    )
    one_plane_a_unit = models.BooleanField(
        "a syringe is used in one plane only",
        default=True,
        help_text="When a plan chooses packs. A session can always be charted as it happened.",
    )
    asks_time_out = models.BooleanField(
        "a time-out before the first point",
        default=True,
        help_text="The tablet asks for it, and points given without one are flagged. Common "
        "practice, no source.",
    )
    currency = models.CharField(
        max_length=3,
        default="EUR",
        validators=[validate_currency],
        help_text="Of prices, as the three letters of ISO 4217.",
    )
    tablet_lock_minutes = models.PositiveSmallIntegerField(
        default=5,
        validators=[MinValueValidator(1), MaxValueValidator(60)],
        help_text="Without a touch or a key for so long, a charting tablet covers its screen.",
    )

    # When a look at a record is asked about (planning/unusual_access.py).
    access_records_an_hour = models.PositiveSmallIntegerField(
        "records opened in an hour",
        default=30,
        validators=[MinValueValidator(1), MaxValueValidator(1_000)],
        help_text="More different records by one person are asked about. Common practice, no "
        "source.",
    )
    access_reason_days = models.PositiveSmallIntegerField(
        "a reason within",
        default=14,
        validators=[MinValueValidator(1), MaxValueValidator(400)],
        help_text="A record of a patient without a visit, session, review or task so many days "
        "before and after is asked about. Common practice, no source.",
    )
    access_margin_minutes = models.PositiveSmallIntegerField(
        "before and after work",
        default=60,
        validators=[MaxValueValidator(720)],
        help_text="Records opened so long before or after a person’s hours are not asked about. "
        "Common practice, no source.",
    )
    access_from = models.TimeField(
        "at work from",
        default=time(8),
        help_text="Of people for whom no hours are set, on days on which the clinic opens.",
    )
    access_until = models.TimeField("at work until", default=time(18))
    head_addresses = models.TextField(
        "the head of the audit trail goes to",
        blank=True,
        validators=[validate_addresses],
        help_text="E-mail addresses outside of the clinic, one a line, such as your accountant’s. "
        "It holds no patient data. Empty: not mailed.",
    )

    class Meta:
        app_label = "clinic"
        constraints = [
            models.CheckConstraint(condition=Q(id=1), name="policy_is_one_row"),
            models.CheckConstraint(
                condition=Q(access_until__gt=F("access_from")),
                name="policy_work_ends_after_start",
                violation_error_message="People without hours of their own are at work until a "
                "time that lies after the one from which they are.",
            ),
            models.CheckConstraint(
                condition=Q(holiday_part="") | ~Q(holiday_country=""),
                name="policy_holiday_part_of_a_country",
                violation_error_message="Choose the country as well.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def quiet(self) -> QuietHours:
        return QuietHours(self.quiet_from, self.quiet_until)

    @property
    def head_recipients(self) -> list[str]:
        return addresses_in(self.head_addresses)

    @property
    def wait_days(self) -> dict[CareKind, int]:
        """Days to wait after what a patient had elsewhere; without the kinds nobody set."""
        days = {
            CareKind.VACCINE: self.wait_vaccine_days,
            CareKind.DENTAL: self.wait_dental_days,
            CareKind.SKIN: self.wait_skin_days,
            CareKind.SURGERY: self.wait_surgery_days,
        }
        return {kind: count for kind, count in days.items() if count is not None}


class Closure(models.Model):
    """Days on which the clinic is closed although the weekday is an open one."""

    starts_on = models.DateField("first day")
    ends_on = models.DateField("last day")
    reason = models.CharField(max_length=200)

    class Meta:
        app_label = "clinic"
        ordering = ["starts_on"]
        constraints = [
            models.CheckConstraint(
                condition=Q(ends_on__gte=F("starts_on")),
                name="closure_ends_after_start",
                violation_error_message="The last day lies before the first day.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.starts_on} to {self.ends_on}: {self.reason}"
