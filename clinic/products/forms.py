"""The form of a product."""

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Field, Fieldset, Layout, Submit
from django import forms

from clinic.database.form_fields import say_bounds
from clinic.products.models import Product
from planning.amounts import AmountError, parse_amount, plain_number
from planning.gtin import GtinError, normalise_gtin
from planning.lidocaine_strength import StrengthError, parse_strength, percent_text
from planning.vocabulary import ProductKind


class ProductForm(forms.ModelForm):
    """A product; content is typed in mL or units by its kind, lidocaine in % or mg/mL."""

    content = forms.CharField(
        label="Content of one unit",
        help_text="mL in a syringe or ampoule; units in a vial of toxin or hyaluronidase.",
    )
    lidocaine = forms.CharField(
        required=False,
        help_text="As on the pack, in % or in mg/mL: 0.3 % is 3 mg/mL. Empty if there is none.",
    )
    gtin = forms.CharField(
        label="GTIN",
        required=False,
        max_length=40,
        help_text="The digits under the bar code; blanks and hyphens do not matter.",
    )

    class Meta:
        model = Product
        fields = [
            "name", "maker", "kind", "content", "gtin", "is_single_patient",
            "hours_after_opening", "typical_duration_months", "is_active",
        ]  # fmt: skip

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        if self.instance.pk:
            self.initial["content"] = plain_number(self.instance.content, self.instance.measure)
            self.initial["lidocaine"] = percent_text(self.instance.lidocaine_ug_per_ml)
        self.fields["kind"].choices = [("", "Choose"), *ProductKind.choices()]
        say_bounds(self)
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout(
            Fieldset("What it is", "name", "maker", "kind", "gtin"),
            Fieldset("What one unit holds", "content", "lidocaine"),
            Fieldset(
                "How it is used",
                "hours_after_opening",
                "typical_duration_months",
                Field("is_single_patient", wrapper_class="field--full"),
                Field("is_active", wrapper_class="field--full"),
            ),
        )
        self.helper.add_input(Submit("save", "Save product"))

    def clean_name(self):
        name = self.cleaned_data["name"]
        if other := self._another(name=name):
            raise forms.ValidationError(
                f"Another product has this name, by {other.maker}. Add what tells them apart."
            )
        return name

    def clean_gtin(self):
        typed = self.cleaned_data["gtin"]
        if not typed:
            return None
        try:
            gtin = normalise_gtin(typed)
        except GtinError as error:
            raise forms.ValidationError(str(error)) from error
        if other := self._another(gtin=gtin):
            raise forms.ValidationError(f"Another product has this GTIN: {other}.")
        return gtin

    def _another(self, **fields) -> Product | None:
        return Product.objects.filter(**fields).exclude(pk=self.instance.pk).first()

    def clean_content(self):
        kind = self.cleaned_data.get("kind")
        if not kind:
            raise forms.ValidationError("Choose the kind first: it decides between mL and units.")
        try:
            return parse_amount(self.cleaned_data["content"], ProductKind(kind).measure)
        except AmountError as error:
            raise forms.ValidationError(str(error)) from error

    def clean_lidocaine(self):
        try:
            return parse_strength(self.cleaned_data["lidocaine"])
        except StrengthError as error:
            raise forms.ValidationError(str(error)) from error

    def clean(self):
        cleaned = super().clean()
        kind, strength = cleaned.get("kind"), cleaned.get("lidocaine")
        if strength and kind in {ProductKind.TOXIN, ProductKind.HYALURONIDASE}:
            self.add_error("lidocaine", "A product counted in units holds no lidocaine by volume.")
        return cleaned

    def _post_clean(self):
        if "lidocaine" in self.cleaned_data:
            self.instance.lidocaine_ug_per_ml = self.cleaned_data["lidocaine"]
        super()._post_clean()
