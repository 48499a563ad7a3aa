"""Forms of the policy page. Amounts are typed in mL and units, days as numbers."""

from datetime import timedelta

from crispy_forms.bootstrap import AppendedText
from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Field, Fieldset, Layout, Row, Submit
from django import forms
from django.utils import timezone

from clinic.bookings.forms import ASK, AsksAboutBooked
from clinic.bookings.registry import TimeAway
from clinic.database.form_fields import DayField, PhoneField, name_what_is_required, say_bounds
from clinic.database.moments import moment_at
from clinic.database.seen_values import SEEN, SeenValuesForm
from clinic.policy.models import ClinicPolicy, Closure
from clinic.policy.validators import AMOUNT_FIELDS
from planning.allocation.shelf import Preference
from planning.amounts import AmountError, parse_amount, plain_number
from planning.flags import OFFERED_FILLER_UL_PER_60_KG_YEAR
from planning.public_holidays import HolidayError, countries, part_named, parts_of
from planning.sources import (
    FILLER_AGE,
    FILLER_YEARLY_VOLUME,
    SIDE_DIFFERENCE,
    TIME_TO_THINK,
    TOXIN_CEILING,
    TOXIN_INTERVAL,
    Confidence,
    Source,
)
from planning.vocabulary import Measure

WEEKDAYS = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"]
WAITS = ["wait_vaccine_days", "wait_dental_days", "wait_skin_days", "wait_surgery_days"]
WAITS_TEXT = (
    '<p class="quiet field--full">No published figure is offered: set your own. Empty: not '
    "checked.</p>"
)
_OFFERED = plain_number(OFFERED_FILLER_UL_PER_60_KG_YEAR, Measure.VOLUME)


def _with_source(text: str, source: Source) -> str:
    if source.confidence is Confidence.MEMORY:
        return f"{text} From memory, please check: {source.title}, {source.detail}."
    return f"{text} Source: {source}."


class PolicyForm(AsksAboutBooked, SeenValuesForm):
    taking_away = frozenset({"open_weekdays", "holiday_country", "holiday_part"})
    open_weekdays = forms.TypedMultipleChoiceField(
        label="Open on",
        coerce=int,
        choices=list(enumerate(WEEKDAYS, start=1)),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose at least one day on which the clinic is open."},
    )
    holiday_country = forms.ChoiceField(
        label="Public holidays of",
        required=False,
        help_text="The clinic is closed on them. From a general list: check it against the local "
        "calendar, and add a closure for what is missing.",
    )
    holiday_part = forms.CharField(
        label="Part of the country",
        required=False,
        max_length=60,
        help_text="Where a part has holidays of its own, such as England. Empty: those that the "
        "whole country keeps.",
        widget=forms.TextInput(attrs={"list": "known-parts", "autocomplete": "off"}),
    )
    filler_ul_per_60_kg_year = forms.CharField(
        label="Filler per 60 kg in a rolling year",
        required=False,
        help_text=_with_source(
            f"Empty: not checked. Suggested: {_OFFERED} mL.", FILLER_YEARLY_VOLUME
        ),
    )
    toxin_ceiling_centiunits = forms.CharField(
        label="Toxin of one product in three months",
        help_text=_with_source("Over all indications.", TOXIN_CEILING),
    )
    filler_session_ul = forms.CharField(
        label="Filler in one session", required=False, help_text="Empty: not checked."
    )
    toxin_session_centiunits = forms.CharField(
        label="One toxin in one session", required=False, help_text="Empty: not checked."
    )

    class Meta:
        model = ClinicPolicy
        fields = [
            "name", "address", "phone", "email", "emergency_contact", "open_weekdays",
            "holiday_country", "holiday_part",
            "review_count", "review_unit", "review_lead_days", "review_grace_days", "top_up_days",
            "contact_tries", "top_up_wait_days", "cooling_off_days", "cooling_off_may_be_waived",
            "history_months",
            "offer_minutes", "offer_margin_minutes", "offers_go_on", "quiet_from", "quiet_until",
            "expiry_warning_days", "expiry_urgent_days", "reorder_weeks", "reorder_spare_days",
            "reading_hours", "minimum_age_years", "toxin_interval_days",
            "toxin_ceiling_centiunits", "filler_ul_per_60_kg_year", "filler_session_ul",
            "toxin_session_centiunits", "side_difference_percent", "wait_vaccine_days",
            "wait_dental_days", "wait_skin_days", "wait_surgery_days", "plan_preference",
            "one_plane_a_unit", "currency", "tablet_lock_minutes", "asks_time_out",
            "access_records_an_hour", "access_reason_days", "access_margin_minutes",
            "access_from", "access_until", "head_addresses",
        ]  # fmt: skip
        field_classes = {"phone": PhoneField}
        labels = {
            "name": "Clinic",
            "emergency_contact": "In an emergency",
            "review_count": "Review after",
            "review_unit": "Counted in",
            "review_lead_days": "Due soon",
            "review_grace_days": "Overdue",
            "top_up_days": "Top-up within",
            "contact_tries": "Not reached after",
            "top_up_wait_days": "Top-up not before",
            "cooling_off_days": "Cooling-off before a first treatment",
            "history_months": "Medical history asked anew after",
            "offer_minutes": "An offered time is held for",
            "offer_margin_minutes": "At most until",
            "quiet_from": "Nobody is written to from",
            "quiet_until": "Until",
            "expiry_warning_days": "Expiry pointed out",
            "expiry_urgent_days": "Expiry urgent",
            "reorder_weeks": "Use per week counted over",
            "reorder_spare_days": "Kept in reserve",
            "reading_hours": "Each fridge read within",
            "minimum_age_years": "Youngest patient",
            "toxin_interval_days": "Between two toxin treatments",
            "side_difference_percent": "Left and right differ by more than",
            "wait_vaccine_days": "After a vaccine",
            "wait_dental_days": "After dental work",
            "wait_skin_days": "After a laser or peel",
            "wait_surgery_days": "After surgery",
            "tablet_lock_minutes": "Screen locks after",
            "access_records_an_hour": "More in an hour than",
            "access_reason_days": "No visit or task within",
            "access_margin_minutes": "Before and after work by more than",
            "access_from": "Without hours of their own, people work from",
            "access_until": "Until",
            "head_addresses": "The head of the audit trail goes each day to",
        }
        widgets = {
            "address": forms.Textarea(attrs={"rows": 3}),
            "head_addresses": forms.Textarea(attrs={"rows": 2}),
            **{
                name: forms.TimeInput(format="%H:%M", attrs={"type": "time"})
                for name in ("quiet_from", "quiet_until", "access_from", "access_until")
            },
        }
        help_texts = {
            "minimum_age_years": _with_source(
                "Nobody younger is treated. Check your local law. For fillers, a note also appears "
                "below 22.",
                FILLER_AGE,
            ),
            "top_up_wait_days": "Days after the treatment. Empty: not checked. Common practice, no "
            "source.",
            "cooling_off_days": _with_source(
                "Days from the consultation to the treatment. Check your local law. Empty: not "
                "checked.",
                TIME_TO_THINK,
            ),
            "history_months": "Months since the patient last stood by it. Empty: not checked. "
            "Common practice, no source.",
            "toxin_interval_days": _with_source("Shortest time.", TOXIN_INTERVAL),
            "side_difference_percent": _with_source(
                "Of the larger side. Empty: not checked.", SIDE_DIFFERENCE
            ),
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, initial=_as_typed(kwargs["instance"]), **kwargs)
        self.fields["plan_preference"].choices = Preference.choices()
        self.fields["holiday_country"].choices = [("", "No public holidays"), *countries().items()]
        self.fields["review_unit"].choices = [
            choice for choice in self.fields["review_unit"].choices if choice[0]
        ]
        say_bounds(self)
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = _policy_layout()
        self.helper.add_input(Submit("save", "Save policy"))

    def clean_expiry_urgent_days(self):
        urgent = self.cleaned_data["expiry_urgent_days"]
        warning = self.cleaned_data.get("expiry_warning_days")
        if warning is not None and urgent > warning:
            raise forms.ValidationError(
                f"An expiry is pointed out {warning} days ahead and cannot be urgent before: type "
                f"at most {warning}."
            )
        return urgent

    def clean_currency(self):
        return self.cleaned_data["currency"].upper()

    @property
    def known_parts(self) -> list[str]:
        """What the part of the country shown can be, for the list under its field."""
        country = self["holiday_country"].value()
        return list(parts_of(country).values()) if country in countries() else []

    def clean_holiday_part(self) -> str:
        typed, country = self.cleaned_data["holiday_part"], self.cleaned_data.get("holiday_country")
        if not typed:
            return ""
        if not country:
            raise forms.ValidationError("Choose the country as well, or leave this empty.")
        try:
            return part_named(country, typed)
        except HolidayError as error:
            known = ", ".join(parts_of(country).values())
            raise forms.ValidationError(
                f"{error} Choose one of: {known}." if known else f"{error} Leave it empty."
            ) from error

    def clean_toxin_ceiling_centiunits(self):
        return self._amount("toxin_ceiling_centiunits")

    def clean_filler_ul_per_60_kg_year(self):
        return self._amount("filler_ul_per_60_kg_year")

    def clean_filler_session_ul(self):
        return self._amount("filler_session_ul")

    def clean_toxin_session_centiunits(self):
        return self._amount("toxin_session_centiunits")

    def _amount(self, name: str) -> int | None:
        typed = self.cleaned_data[name]
        try:
            return parse_amount(typed, AMOUNT_FIELDS[name]) if typed else None
        except AmountError as error:
            raise forms.ValidationError(str(error)) from error


def _as_typed(policy: ClinicPolicy) -> dict[str, str]:
    """What the page shows otherwise than it is stored: amounts with their decimals, a name."""
    amounts = {name: getattr(policy, name) for name in AMOUNT_FIELDS}
    shown = {
        name: "" if amount is None else plain_number(amount, AMOUNT_FIELDS[name])
        for name, amount in amounts.items()
    }
    if policy.holiday_part:
        shown["holiday_part"] = parts_of(policy.holiday_country)[policy.holiday_part]
    return shown


def _policy_layout() -> Layout:
    full = "field--full"
    return Layout(
        SEEN,
        Fieldset(
            "The clinic",
            Field("name", wrapper_class=full),
            Field("address", wrapper_class=full),
            "phone",
            "email",
            Field("emergency_contact", wrapper_class=full),
        ),
        Fieldset(
            "Opening days",
            Field("open_weekdays", wrapper_class=full),
            "holiday_country",
            "holiday_part",
        ),
        Fieldset(
            "Reviews",
            Row("review_count", "review_unit"),
            AppendedText("review_lead_days", "days before"),
            AppendedText("review_grace_days", "days after"),
            AppendedText("top_up_days", "days"),
            AppendedText("contact_tries", "tries"),
        ),
        Fieldset(
            "Asked at booking and before a session",
            AppendedText("top_up_wait_days", "days"),
            AppendedText("cooling_off_days", "days"),
            Field("cooling_off_may_be_waived", wrapper_class=full),
        ),
        Fieldset("Before a treatment", AppendedText("history_months", "months")),
        Fieldset(
            "Waiting list",
            AppendedText("offer_minutes", "minutes"),
            AppendedText("offer_margin_minutes", "minutes before"),
            Field("offers_go_on", wrapper_class=full),
        ),
        Fieldset("Quiet hours of messages and offers", "quiet_from", "quiet_until"),
        Fieldset(
            "Limits shown to the injector",
            AppendedText("minimum_age_years", "years"),
            AppendedText("toxin_interval_days", "days"),
            AppendedText("toxin_ceiling_centiunits", "units"),
            AppendedText("toxin_session_centiunits", "units"),
            AppendedText("filler_ul_per_60_kg_year", "mL"),
            AppendedText("filler_session_ul", "mL"),
            AppendedText("side_difference_percent", "%"),
        ),
        Fieldset(
            "Days to wait after what a patient had elsewhere",
            HTML(WAITS_TEXT),
            *(AppendedText(name, "days") for name in WAITS),
        ),
        Fieldset(
            "Stock",
            AppendedText("expiry_warning_days", "days before"),
            AppendedText("expiry_urgent_days", "days before"),
            AppendedText("reorder_weeks", "weeks"),
            AppendedText("reorder_spare_days", "days of use"),
            AppendedText("reading_hours", "hours"),
        ),
        Fieldset(
            "Plans and quotes",
            "plan_preference",
            "currency",
            Field("one_plane_a_unit", wrapper_class=full),
        ),
        Fieldset(
            "Tablets",
            AppendedText("tablet_lock_minutes", "minutes"),
            Field("asks_time_out", wrapper_class=full),
        ),
        Fieldset(
            "Looks at records that are asked about",
            AppendedText("access_records_an_hour", "records"),
            AppendedText("access_reason_days", "days"),
            AppendedText("access_margin_minutes", "minutes"),
            "access_from",
            "access_until",
            Field("head_addresses", wrapper_class=full),
        ),
        ASK,
    )


class ClosureForm(AsksAboutBooked, SeenValuesForm):
    class Meta:
        model = Closure
        fields = ["starts_on", "ends_on", "reason"]
        field_classes = {"starts_on": DayField, "ends_on": DayField}
        help_texts = {"reason": "Told to whoever books, such as “Staff training”."}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        name_what_is_required(self)
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout(
            SEEN,
            Row("starts_on", "ends_on"),
            "reason",
            ASK,
        )
        label = "Save closure" if self.instance.pk else "Add closure"
        self.helper.add_input(Submit("save", label))

    def clean_ends_on(self):
        """A closure moves reviews to come; one that is over would not even be listed."""
        last = self.cleaned_data["ends_on"]
        if last < timezone.localdate():
            raise forms.ValidationError("This day has passed. Check the year of the last day.")
        return last

    def clean(self):
        cleaned = super().clean()
        first, last = cleaned.get("starts_on"), cleaned.get("ends_on")
        if first and last and first <= last:
            self.ask_about_booked(TimeAway(moment_at(first), moment_at(last + timedelta(days=1))))
        return cleaned
