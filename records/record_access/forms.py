"""Narrowing down the trail, answering questions, naming a colleague's record."""

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Layout
from django import forms

from clinic.database.form_fields import DayField, name_what_is_required
from clinic.staff.models import User
from planning.act_kinds import ActKind
from records.patients.models import Patient
from records.record_access.enums import Mark


class AccessFilterForm(forms.Form):
    """What of the trail to show; what is not valid counts as not given."""

    kind = forms.ChoiceField(
        label="What", required=False, choices=[("", "Everything"), *ActKind.choices()]
    )
    actor = forms.ModelChoiceField(
        User.objects.order_by("full_name"), label="Who", required=False, empty_label="Everybody"
    )
    from_day = DayField(label="From", required=False)
    to_day = DayField(label="To", required=False)
    patient = forms.IntegerField(
        required=False, min_value=1, max_value=2**62, widget=forms.HiddenInput
    )
    before = forms.IntegerField(
        required=False, min_value=1, max_value=2**62, widget=forms.HiddenInput
    )

    def __init__(self, *args, by_person: bool, **kwargs):
        super().__init__(*args, **kwargs)
        if not by_person:
            del self.fields["actor"]
        else:
            del self.fields["patient"]
        self.helper = FormHelper()
        self.helper.form_method = "get"
        self.helper.form_error_title = "Not narrowed down by the marked fields: correct them."
        self.helper.attrs = {"class": "form form--inline"}
        names = ["actor"] if by_person else ["patient"]
        self.helper.layout = Layout(
            *names, "kind", "from_day", "to_day",
            HTML('<button class="button" type="submit">Show</button>'),
        )  # fmt: skip

    def clean(self):
        cleaned = super().clean()
        first, last = cleaned.get("from_day"), cleaned.get("to_day")
        if first and last and last < first:
            self.add_error("to_day", "This day lies before the first one.")
        return cleaned

    @property
    def wanted(self) -> dict:
        """Arguments for `events_shown`."""
        self.is_valid()
        found = self.cleaned_data
        wanted = {
            "kind": ActKind(found["kind"]) if found.get("kind") else None,
            "from_day": found.get("from_day"),
            "to_day": found.get("to_day"),
            "before": found.get("before"),
        }
        if found.get("actor"):
            wanted["actor_id"] = found["actor"].pk
        if found.get("patient"):
            wanted["patient_id"] = found["patient"]
        return wanted


class MarkForm(forms.Form):
    """Answers one question or several at once."""

    finding = forms.TypedMultipleChoiceField(
        coerce=int, error_messages={"required": "Choose the questions that this answers."}
    )
    words = forms.CharField(
        max_length=500, error_messages={"required": "Say in words what came of it."}
    )
    mark = forms.ChoiceField(
        choices=[(mark.value, mark.label) for mark in (Mark.EXPLAINED, Mark.CONCERN)],
        error_messages={"required": "Choose whether it is explained or a concern."},
    )

    def __init__(self, data, *, shown):
        super().__init__(data)
        self.fields["finding"].choices = [(pk, str(pk)) for pk in shown]


class OwnRecordForm(forms.Form):
    """The record of a member of staff who is a patient."""

    record_number = forms.CharField(max_length=12, label="Record number")

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        name_what_is_required(self)
        self.helper = FormHelper()
        self.helper.form_tag = False
        self.helper.disable_csrf = True
        self.helper.layout = Layout("record_number")

    def clean_record_number(self) -> Patient:
        typed = self.cleaned_data["record_number"].strip().upper()
        patient = Patient.objects.filter(record_number=typed).first()
        if patient is None:
            raise forms.ValidationError("No patient has this record number.")
        return patient


class SameForm(forms.Form):
    """Whether a member of staff and a patient of one name are one person."""

    person = forms.ModelChoiceField(User.objects.all())
    patient = forms.ModelChoiceField(Patient.objects.all())
    is_same = forms.TypedChoiceField(
        choices=[("yes", "The same person"), ("no", "Another person")],
        coerce=lambda value: value == "yes",
    )
