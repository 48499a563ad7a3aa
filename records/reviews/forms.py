"""Input of the acts on reviews."""

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Field, Layout
from django import forms

from clinic.database.form_fields import DayField, name_what_is_required
from records.reviews.models import Review


class ReopenForm(forms.Form):
    """Why a closed review is opened again; on the day of the closing nobody asks."""

    reason = forms.CharField(
        label="Why it is opened again",
        max_length=300,
        error_messages={"required": "Say why the review is opened again."},
        help_text="It stays in the audit trail.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )

    def __init__(self, *args, review: Review, back: str, **kwargs):
        super().__init__(*args, **kwargs)
        self.back = back
        if review.closed_today:
            del self.fields["reason"]
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout(
            *self.fields, HTML('{% include "reviews/_reopen_actions.html" %}')
        )


class ExcuseForm(forms.Form):
    reason = forms.CharField(
        label="Why the review is not needed",
        max_length=300,
        error_messages={"required": "Say why the review is not needed."},
        help_text="It stays with the review.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )

    def __init__(self, *args, back: str, **kwargs):
        super().__init__(*args, **kwargs)
        self.back = back
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout(
            Field("reason"),
            HTML('{% include "reviews/_excuse_actions.html" %}'),
        )


class MoveForm(forms.Form):
    """The new day of an open review, and why."""

    due_on = DayField(label="New day")
    reason = forms.CharField(
        label="Why it is moved",
        max_length=300,
        help_text="It stays with the review. Name no more of the treatment than is needed.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )

    def __init__(self, *args, back: str, **kwargs):
        super().__init__(*args, **kwargs)
        self.back = back
        name_what_is_required(self)
        self.fields["reason"].error_messages["required"] = "Say why the review is moved."
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout(
            "due_on", "reason", HTML('{% include "reviews/_move_actions.html" %}')
        )
