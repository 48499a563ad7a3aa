"""Which people are shown, and what came of an attempt to reach one."""

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Field, Layout, Row
from django import forms

from clinic.database.form_fields import MomentField
from records.patients.enums import Channel
from records.recalls.enums import ContactOutcome, Reach
from records.recalls.models import CaseContact


class PeopleFilter(forms.Form):
    """Which part of the call list; a value that nobody offered counts as not given."""

    reach = forms.ChoiceField(choices=Reach.choices(), required=False)
    channel = forms.ChoiceField(
        label="Prefers", choices=[("", "Any way"), *Channel.choices()], required=False
    )
    late = forms.BooleanField(required=False)

    @property
    def chosen(self) -> dict:
        """`reach` and `channel` of `records.recalls.queries.people.CallList`, and `late`."""
        self.is_valid()
        data = self.cleaned_data
        return {
            "reach": Reach(data["reach"]) if data.get("reach") else None,
            "channel": Channel(data["channel"]) if data.get("channel") else None,
            "late": bool(data.get("late")),
        }


class ContactForm(forms.ModelForm):
    """One attempt, or the answer of the patient."""

    channel = forms.ChoiceField(label="By", choices=Channel.choices(), widget=forms.RadioSelect)
    outcome = forms.ChoiceField(
        label="What came of it",
        choices=ContactOutcome.choices(),
        widget=forms.RadioSelect,
        error_messages={"required": "Say what came of it."},
    )
    at = MomentField(label="When", required=False, help_text="Empty: just now.")

    class Meta:
        model = CaseContact
        fields = ["channel", "outcome", "note", "at"]
        widgets = {"note": forms.Textarea(attrs={"rows": 2})}

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout(
            Field("channel"),
            Field("outcome"),
            Field("note"),
            Row("at"),
            HTML('{% include "recalls/_contact_actions.html" %}'),
        )

    def clean(self) -> dict:
        cleaned = super().clean() or {}
        if channel := cleaned.get("channel"):
            cleaned["channel"] = Channel(channel)
        if outcome := cleaned.get("outcome"):
            cleaned["outcome"] = ContactOutcome(outcome)
            if channel and not cleaned["outcome"].fits(cleaned["channel"]):
                self.add_error(
                    "outcome",
                    f"“{cleaned['outcome'].label}” does not go with "
                    f"“{cleaned['channel'].label}”. Change one of the two.",
                )
        return cleaned


class UnreachableForm(forms.Form):
    note = forms.CharField(
        label="Why there is no way to reach them, and what was tried",
        max_length=300,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2, "maxlength": 300}),
    )
