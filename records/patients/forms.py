"""What the front desk types about a patient."""

from crispy_forms.bootstrap import AppendedText, InlineRadios
from crispy_forms.helper import FormHelper
from crispy_forms.layout import Field, Fieldset, Layout, Row, Submit
from django import forms
from django.conf import settings
from django.utils import timezone

from clinic.database.form_fields import name_what_is_required
from clinic.database.seen_values import SeenValuesForm
from planning.names import Person, parse_birth_date
from planning.spoken_dates import births
from records.patients.enums import AlertKind, AlertLevel, Channel, Sex
from records.patients.models import Patient
from records.patients.services import NO_KNOWN_ALLERGIES, NewAlert
from records.patients.validators import (
    check_birth_date,
    check_full_name,
    missing_contact,
    parse_weight_g,
    phone_doubt,
    weight_kg,
    written_name,
)


class SearchForm(forms.Form):
    """Part of a name, telephone number, date of birth or record number."""

    q = forms.CharField(max_length=200, required=False)

    @property
    def typed(self) -> str:
        """What was typed; nothing if that is no text to search for."""
        return self.cleaned_data["q"] if self.is_valid() else ""


def one_act(verb: str, *fields) -> FormHelper:
    """The layout of a small form with one button."""
    helper = FormHelper()
    helper.attrs = {"data-once": ""}
    helper.layout = Layout(*fields)
    helper.add_input(Submit("", verb))
    return helper


class BirthDateField(forms.CharField):
    """Takes what the search understands too, unless that may be more than one day."""

    def to_python(self, value):
        text = super().to_python(value)
        if not text:
            return None
        today = timezone.localdate()
        # Day first, as the field asks for, is no guess.
        born = parse_birth_date(text)
        meant = (born,) if born else births(text, today)
        if len(meant) > 1:
            days = " or ".join(f"{day.day} {day:%B %Y}" for day in meant)
            raise forms.ValidationError(
                f"That may be {days}: type day, month and full year, such as 17.05.1980."
            )
        if not meant:
            raise forms.ValidationError(
                "No such day: type day, month and full year, such as 17.05.1980."
            )
        check_birth_date(meant[0], today=today)
        return meant[0]

    def prepare_value(self, value):
        return value.strftime("%d.%m.%Y") if hasattr(value, "strftime") else value


class WeightField(forms.CharField):
    """Kilograms on the page, grams in the record."""

    def to_python(self, value):
        text = super().to_python(value)
        return parse_weight_g(text) if text else None

    def prepare_value(self, value):
        return weight_kg(value) if isinstance(value, int) else value


class PatientForm(SeenValuesForm):
    """Who the patient is and how to reach them."""

    birth_date = BirthDateField(
        label="Date of birth",
        help_text="Day first, such as 17.05.1980 or 17 May 1980.",
        widget=forms.TextInput(attrs={"inputmode": "text", "placeholder": "DD.MM.YYYY"}),
    )
    sex = forms.ChoiceField(choices=Sex.choices(), initial=Sex.NOT_STATED, widget=forms.RadioSelect)
    preferred_channel = forms.ChoiceField(
        label="Best way to reach them",
        choices=Channel.choices(),
        initial=Channel.PHONE,
        widget=forms.RadioSelect,
    )
    weight_g = WeightField(
        label="Weight",
        required=False,
        help_text="Some limits go by body weight. Leave empty if not known.",
        widget=forms.TextInput(attrs={"inputmode": "decimal"}),
    )

    class Meta:
        model = Patient
        fields = [
            "full_name", "known_as", "birth_date", "sex", "phone", "email", "address",
            "preferred_channel", "agrees_to_email", "agrees_to_sms", "weight_g",
        ]  # fmt: skip
        labels = {
            "agrees_to_email": "May be written to by e-mail",
            "agrees_to_sms": "May be written to by text message",
        }
        widgets = {
            "full_name": forms.TextInput(attrs={"dir": "auto"}),
            "known_as": forms.TextInput(attrs={"dir": "auto"}),
            "phone": forms.TextInput(attrs={"type": "tel", "dir": "ltr"}),
            "address": forms.Textarea(attrs={"rows": 3, "dir": "auto"}),
        }
        help_texts = {
            "known_as": "What they like to be called, if it differs.",
            "agrees_to_email": "Asked, and the patient agrees. Confirmations and reminders only.",
            "agrees_to_sms": "As for e-mail. Without a tick, nothing is sent this way.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            # Someone else's details must not be offered from the browser's memory.
            field.widget.attrs.setdefault("autocomplete", "off")
        name_what_is_required(self)
        self.helper = FormHelper()
        self.helper.form_tag = False
        self.helper.disable_csrf = True  # the form around it has the token
        self.helper.layout = Layout(
            Fieldset(
                "Person",
                Field("full_name", wrapper_class="field--full"),
                "known_as",
                "birth_date",
                InlineRadios("sex"),
            ),
            Fieldset(
                "How to reach them",
                "phone",
                "email",
                InlineRadios("preferred_channel"),
                "agrees_to_email",
                "agrees_to_sms",
                Field("address", wrapper_class="field--full"),
            ),
            Fieldset("For the treatment", AppendedText("weight_g", "kg")),
        )

    def clean_full_name(self):
        name = written_name(self.cleaned_data["full_name"])
        check_full_name(name)
        return name

    def clean_known_as(self):
        return written_name(self.cleaned_data["known_as"])

    def clean(self):
        typed = super().clean()
        channel = typed.get("preferred_channel")
        # A field that is wrong already says so itself.
        missing = missing_contact(channel, typed) if channel else None
        if missing and missing[0] not in self.errors:
            self.add_error(*missing)
        return typed

    @property
    def person(self) -> Person:
        """What the duplicate check asks about."""
        typed = self.cleaned_data
        return Person(
            full_name=f"{typed['full_name']} {typed['known_as']}".strip(),
            birth_date=typed["birth_date"],
            phone=typed["phone"],
            email=typed["email"],
        )

    @property
    def says_who(self) -> bool:
        """Whether something changed by which a duplicate would be noticed."""
        return bool(
            {"full_name", "known_as", "birth_date", "phone", "email"} & {*self.changed_data}
        )

    @property
    def phone_doubt(self) -> str:
        return phone_doubt(self.cleaned_data["phone"], region=settings.PHONE_REGION)


class AlertForm(forms.Form):
    """An allergy or another thing that whoever treats the patient must see."""

    kind = forms.ChoiceField(
        choices=[(k.value, k.label) for k in AlertKind if k is not AlertKind.NONE_KNOWN],
        initial=AlertKind.ALLERGY,
    )
    level = forms.ChoiceField(choices=AlertLevel.choices(), initial=AlertLevel.CAUTION)
    text = forms.CharField(
        label="What",
        max_length=300,
        error_messages={"required": "Say what it is."},
        help_text="To what, and what happened. Such as: lidocaine, swelling in 2019.",
        widget=forms.TextInput(attrs={"dir": "auto", "autocomplete": "off"}),
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.helper = one_act("Add", Row("kind", "level"), "text")

    @property
    def alert(self) -> NewAlert:
        return NewAlert(**{name: self.cleaned_data[name] for name in ("kind", "level", "text")})


class AlertRow(AlertForm):
    """The same as one row of the registration; a row without text is no row."""

    text = forms.CharField(
        label="What",
        max_length=300,
        required=False,
        widget=forms.TextInput(attrs={"dir": "auto", "autocomplete": "off"}),
    )


class NoneKnownForm(forms.Form):
    """Asked and answered with no; there is nothing to type."""

    alert = NO_KNOWN_ALLERGIES

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.helper = one_act("The patient knows of no allergy")


AlertRows = forms.formset_factory(AlertRow, extra=1, max_num=50, absolute_max=50, validate_max=True)


class AllergyQuestion(forms.Form):
    """Asked at registration, together with the rows: an answer must be given."""

    none_known = forms.BooleanField(
        label="No known allergies",
        required=False,
        help_text="Asked, and the patient knows of none.",
    )

    def alerts(self, rows: forms.BaseFormSet) -> list[NewAlert]:
        """
        What is to be recorded; both forms are valid.

        An answer that is missing, or that contradicts itself, becomes an error of this form.
        """
        alerts = [row.alert for row in rows if row.cleaned_data.get("text")]
        has_allergy = any(alert.kind == AlertKind.ALLERGY for alert in alerts)
        if self.cleaned_data["none_known"] and has_allergy:
            self.add_error(
                "none_known", "An allergy is typed above. Take away the tick, or the allergy."
            )
        elif self.cleaned_data["none_known"]:
            alerts.append(NO_KNOWN_ALLERGIES)
        elif not has_allergy:
            self.add_error("none_known", "Type an allergy above, or tick that none is known.")
        return alerts


class EndAlertForm(forms.Form):
    reason = forms.CharField(
        label="Why it no longer holds",
        max_length=300,
        error_messages={"required": "Say why this alert no longer holds."},
        widget=forms.TextInput(attrs={"dir": "auto", "autocomplete": "off"}),
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.helper = one_act("End this alert", "reason")


class Registration:
    """The registration page: the patient, rows of alerts, and the question about allergies."""

    def __init__(self, data=None) -> None:
        self.patient = PatientForm(data)
        self.rows = AlertRows(data, prefix="alerts")
        self.question = AllergyQuestion(data)
        self.alerts: list[NewAlert] = []

    def is_valid(self) -> bool:
        # All are asked, so that all marks stand on the page at once.
        answered = all([self.rows.is_valid(), self.question.is_valid()])
        if answered:
            self.alerts = self.question.alerts(self.rows)
        return all([self.patient.is_valid(), answered, self.question.is_valid()])

    @property
    def misses_allergies(self) -> bool:
        """Whether what is wrong stands at the foot of the page alone."""
        refused = self.rows.is_bound and bool(self.question.errors or any(self.rows.errors))
        return refused and not self.patient.errors
