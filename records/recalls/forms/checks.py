"""What came of asking one patient of the sample."""

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Field, Layout
from django import forms

from records.recalls.enums import CheckResult
from records.recalls.models import CaseCheck


class CheckForm(forms.ModelForm):
    result = forms.ChoiceField(
        label="The patient",
        choices=CheckResult.choices(),
        widget=forms.RadioSelect,
        error_messages={"required": "Say what came of it."},
    )

    class Meta:
        model = CaseCheck
        fields = ["result", "note"]
        widgets = {"note": forms.TextInput(attrs={"autocomplete": "off"})}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout(
            Field("result"), "note", HTML('{% include "recalls/_check_actions.html" %}')
        )
