"""A form with one field of each kind, for the style page only. It is never sent anywhere."""

from crispy_forms.bootstrap import AppendedText
from crispy_forms.helper import FormHelper
from crispy_forms.layout import Field, Fieldset, Layout, Row, Submit
from django import forms

SIDES = [("right", "Right"), ("midline", "Midline"), ("left", "Left")]
PLANES = [
    ("intradermal", "Intradermal"),
    ("subcutaneous", "Subcutaneous"),
    ("deep_fat", "Deep fat"),
    ("supraperiosteal", "Supraperiosteal"),
]
CHANNELS = [("phone", "Phone"), ("sms", "Text message"), ("email", "E-mail")]


class SampleForm(forms.Form):
    name = forms.CharField(label="Name", help_text="As the patient writes it, in any script.")
    born_on = forms.DateField(label="Date of birth", widget=forms.DateInput(attrs={"type": "date"}))
    channel = forms.ChoiceField(label="Preferred channel", choices=CHANNELS)
    volume = forms.CharField(label="Amount", help_text="At most what the syringe still holds.")
    side = forms.ChoiceField(label="Side", choices=SIDES, widget=forms.RadioSelect)
    plane = forms.ChoiceField(label="Plane", choices=PLANES, widget=forms.RadioSelect)
    reminders = forms.MultipleChoiceField(
        label="Reminders by", choices=CHANNELS, widget=forms.CheckboxSelectMultiple, required=False
    )
    consent_seen = forms.BooleanField(label="The signed consent was seen today")
    comment = forms.CharField(
        label="Comment", widget=forms.Textarea(attrs={"rows": 3}), required=False
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.helper = FormHelper()
        self.helper.layout = Layout(
            Fieldset("Person", Row("name", "born_on"), "channel", AppendedText("volume", "mL")),
            Fieldset(
                "Where",
                Field("side", wrapper_class="segmented"),
                "plane",
                "reminders",
                "consent_seen",
                Field("comment", wrapper_class="field--full"),
            ),
        )
        self.helper.add_input(Submit("save", "Save"))
