"""Anaesthesia beside the products, typed at a desk."""

from crispy_forms.bootstrap import AppendedText
from crispy_forms.helper import FormHelper
from crispy_forms.layout import Field, Layout, Submit
from django import forms
from django.utils import timezone

from clinic.database.form_fields import MomentField, name_what_is_required
from planning.amounts import AmountError, parse_amount
from planning.lidocaine_strength import StrengthError, parse_strength
from planning.vocabulary import AnaesthesiaMethod, Measure
from records.sessions.models import TreatmentSession
from records.sessions.services.anaesthesia import Anaesthetic

_WIDE = "field--full"


class AnaesthesiaForm(forms.Form):
    """One anaesthetic given in the session."""

    method = forms.ChoiceField(
        label="How",
        choices=AnaesthesiaMethod.choices(),
        widget=forms.RadioSelect,
        error_messages={"required": "Choose how it was given."},
    )
    product = forms.CharField(
        label="Anaesthetic",
        max_length=200,
        help_text="As it stands on the pack.",
        widget=forms.TextInput(attrs={"dir": "auto"}),
    )
    strength = forms.CharField(
        label="Lidocaine",
        required=False,
        max_length=40,
        help_text="With its unit, such as 2 % or 20 mg/mL. Empty: it holds none.",
    )
    with_epinephrine = forms.BooleanField(label="With epinephrine", required=False)
    amount = forms.CharField(
        max_length=40,
        help_text="Of a cream in grams: 1 g of 5 % holds as much lidocaine as 1 mL of 5 %.",
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )
    given_at = MomentField(label="Given at")

    def __init__(self, *args, session: TreatmentSession, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.session = session
        name_what_is_required(self)
        self.fields["method"].error_messages["required"] = "Choose how it was given."
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout(
            Field("method", wrapper_class=_WIDE),
            Field("product", wrapper_class=_WIDE),
            "strength",
            AppendedText("amount", "mL or g"),
            Field("with_epinephrine", wrapper_class=_WIDE),
            "given_at",
            Submit("note", "Write it down", css_class="button button--primary"),
        )

    def clean_strength(self) -> int:
        try:
            return parse_strength(self.cleaned_data["strength"])
        except StrengthError as error:
            raise forms.ValidationError(str(error)) from error

    def clean_amount(self) -> int:
        try:
            return parse_amount(self.cleaned_data["amount"], Measure.VOLUME)
        except AmountError as error:
            raise forms.ValidationError(str(error)) from error

    def clean_given_at(self):
        moment = self.cleaned_data["given_at"]
        if moment > timezone.now():
            raise forms.ValidationError("This time is still to come.")
        return moment

    @property
    def given(self) -> Anaesthetic:
        """What was typed, once it is valid."""
        data = self.cleaned_data
        return Anaesthetic(
            method=data["method"],
            product=data["product"],
            volume_ul=data["amount"],
            lidocaine_ug_per_ml=data["strength"],
            with_epinephrine=data["with_epinephrine"],
        )
