import re

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Layout
from django import forms
from django.contrib.auth import get_user_model

from clinic.audit.wording import act_label
from clinic.database.form_fields import DayField

_ACT = re.compile(r"[a-z_.]{1,60}")


class TrailFilterForm(forms.Form):
    """Which events to show. A patient is chosen by a link from the patient's record."""

    actor = forms.ModelChoiceField(
        get_user_model().objects.order_by("full_name"),
        label="Who",
        required=False,
        empty_label="Everybody",
    )
    action = forms.ChoiceField(label="What", required=False)
    from_day = DayField(label="From", required=False)
    to_day = DayField(label="To", required=False)
    patient = forms.IntegerField(required=False, min_value=1, widget=forms.HiddenInput)
    before = forms.IntegerField(required=False, min_value=1, widget=forms.HiddenInput)

    def __init__(self, *args, actions, **kwargs):
        super().__init__(*args, **kwargs)
        # Acts that were not seen lately can still be asked for by a link.
        asked = self.data.get("action", "")
        known = sorted({*actions, asked} if _ACT.fullmatch(asked) else set(actions))
        self.fields["action"].choices = [
            ("", "Everything"), *((action, act_label(action)) for action in known)
        ]  # fmt: skip
        self.helper = FormHelper()
        self.helper.form_method = "get"
        self.helper.form_error_title = "Not narrowed down by the marked fields: correct them."
        self.helper.attrs = {"class": "form form--inline"}
        self.helper.layout = Layout(
            "actor", "action", "from_day", "to_day", "patient",
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
        """Arguments for `events_shown`; what was not valid counts as not given."""
        self.is_valid()
        found = self.cleaned_data
        return {
            "actor_id": found["actor"].pk if found.get("actor") else None,
            "action": found.get("action") or "",
            "patient_id": found.get("patient"),
            "from_day": found.get("from_day"),
            "to_day": found.get("to_day"),
            "before": found.get("before"),
        }
