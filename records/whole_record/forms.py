from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Layout
from django import forms

from clinic.database.form_fields import name_what_is_required
from records.whole_record.enums import Purpose
from records.whole_record.models import WholeRecord

_AUTO = {"dir": "auto", "autocomplete": "off"}


class AskForm(forms.ModelForm):
    """Why the record is handed out, and to whom."""

    purpose = forms.ChoiceField(
        label="Why it is handed out",
        choices=Purpose.choices(),
        widget=forms.RadioSelect,
        error_messages={"required": "Choose why the record is handed out."},
    )

    class Meta:
        model = WholeRecord
        fields = ["purpose", "recipient", "note"]
        widgets = {
            "recipient": forms.TextInput(attrs=_AUTO),
            "note": forms.TextInput(attrs=_AUTO),
        }
        error_messages = {"recipient": {"required": "Say who gets the record."}}

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        name_what_is_required(self)
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.form_error_title = "Not asked for yet: complete the marked fields."
        self.helper.layout = Layout(
            "purpose", "recipient", "note",
            HTML('<button class="button button--primary" type="submit">Make the PDF</button>'),
        )  # fmt: skip
