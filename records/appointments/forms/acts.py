"""Input of cancelling and of coming late."""

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Field, Layout
from django import forms


class CancelForm(forms.Form):
    reason = forms.CharField(
        label="Why it is cancelled",
        max_length=200,
        error_messages={"required": "Say why it is cancelled."},
        help_text="Nothing clinical.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    following = forms.BooleanField(required=False)

    def __init__(self, *args, back: str, following: int = 0, **kwargs):
        super().__init__(*args, **kwargs)
        self.back = back
        self.fields["following"].label = f"The {following} later ones of its series as well"
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout(
            Field("reason"),
            *([Field("following")] if following else []),
            HTML('{% include "appointments/_cancel_actions.html" %}'),
        )


class LateForm(forms.Form):
    """By how much the patient comes late."""

    minutes = forms.TypedChoiceField(
        coerce=int, choices=[(count, count) for count in (0, 5, 10, 15, 20, 30, 45, 60)]
    )
