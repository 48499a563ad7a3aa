"""The form of a value of the atlas: what it asks for depends on the kind of value."""

from typing import cast

from crispy_forms.helper import FormHelper
from crispy_forms.layout import HTML, Field, Fieldset, Layout
from django import forms

from clinic.atlas.models import AtlasEntry
from clinic.atlas.queries import toxin_label
from clinic.database.form_fields import name_what_is_required
from planning.amounts import AmountError, format_amount, parse_amount, plain_number
from planning.atlas.guide import WORDED, Kind, Per, Use
from planning.atlas.usual import TOXINS
from planning.sources import Confidence

_WIDE = "field--full"
_VALUE_FIELDS = {
    Kind.AMOUNT: ["use", "substance", "least", "most", "per", "text"],
    **{kind: ["use", "text"] for kind in WORDED},
}
_SOURCE_FIELDS = ["source_title", "source_detail", "trust"]
_FIXED_BY_SUPPLIED = {"use", "substance"}
"""A value that replaces a supplied amount is for the same product."""


class AtlasEntryForm(forms.ModelForm):
    """One value of the region and the kind that the instance is made with."""

    term = forms.ChoiceField(label="Value", widget=forms.RadioSelect)
    least = forms.CharField(
        label="From", required=False, help_text="Empty where there is one figure only."
    )
    most = forms.CharField(label="Up to", help_text="In mL for filler, in units for toxin.")
    per = forms.ChoiceField(
        label="Counted for",
        required=False,
        choices=Per.choices(),
        widget=forms.RadioSelect,
        help_text="A toxin is always counted for a session, both sides.",
    )
    substance = forms.ChoiceField(
        label="Toxin",
        required=False,
        choices=[("", "None: it is filler"), *((key, toxin_label(key)) for key in TOXINS)],
    )

    class Meta:
        model = AtlasEntry
        fields = [
            "use", "term", "substance", "least", "most", "per", "text", "source_title",
            "source_detail", "trust",
        ]  # fmt: skip
        widgets = {
            "use": forms.RadioSelect,
            "trust": forms.RadioSelect,
            "text": forms.Textarea(attrs={"rows": 2, "dir": "auto"}),
            "source_detail": forms.Textarea(attrs={"rows": 2, "dir": "auto"}),
        }
        help_texts = {
            "source_title": "A publication, a label, or “Clinic policy”.",
            "source_detail": "The figure or sentence there, with page and year; or who decided it "
            "and when.",
        }

    def __init__(self, *args, back: str, **kwargs):
        super().__init__(*args, **kwargs)
        self.back, self.kind = back, Kind(self.instance.kind)
        self._keep_what_the_kind_has()
        self._word_the_fields()
        name_what_is_required(self)
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = self._layout()

    def _keep_what_the_kind_has(self) -> None:
        asked = [*_VALUE_FIELDS.get(self.kind, ["term", "use", "text"]), *_SOURCE_FIELDS]
        if self.instance.replaces and self.kind is Kind.AMOUNT:
            asked = [name for name in asked if name not in _FIXED_BY_SUPPLIED]
            if self.instance.use == Use.TOXIN:
                asked.remove("per")
        for name in set(self.fields) - set(asked):
            del self.fields[name]

    def _word_the_fields(self) -> None:
        fields, kind, instance = self.fields, self.kind, self.instance
        if kind.terms is not None:
            self._offer("term").choices = kind.terms.choices()
        fields["text"].required = kind in WORDED
        fields["text"].label = "In words" if kind in WORDED else "What else to know"
        if "use" in fields:
            uses = [use for use in Use if kind is not Kind.AMOUNT or use is not Use.ANY]
            self._offer("use").choices = [(use.value, use.label) for use in uses]
            fields["use"].label = "Holds for"
        self._offer("trust").choices = Confidence.choices()
        for name in ("least", "most"):
            amount = getattr(instance, name)
            if name in fields and amount is not None:
                self.initial[name] = plain_number(amount, Use(instance.use).measure)

    def _offer(self, name: str) -> forms.ChoiceField:
        return cast(forms.ChoiceField, self.fields[name])

    def _layout(self) -> Layout:
        wide = {"term", "text", "use", "substance", "per"}
        value = [
            Field(name, wrapper_class=_WIDE) if name in wide else name
            for name in self.fields
            if name not in _SOURCE_FIELDS
        ]
        return Layout(
            Fieldset("The value", *value),
            Fieldset(
                "Where it comes from", *(Field(n, wrapper_class=_WIDE) for n in _SOURCE_FIELDS)
            ),
            HTML('{% include "atlas/_form_actions.html" %}'),
        )

    def clean_text(self) -> str:
        text = self.cleaned_data["text"].strip()
        if self.kind in WORDED and not text:
            raise forms.ValidationError("Say it in words.")
        return text

    def clean(self) -> dict:
        cleaned = super().clean() or self.cleaned_data
        if self.kind is Kind.AMOUNT:
            self._clean_product(cleaned)
            self._clean_amounts(cleaned)
        return cleaned

    def _clean_product(self, cleaned: dict) -> None:
        """Filler says what it is counted for; a toxin is named, for both sides."""
        use = cleaned.get("use", self.instance.use)
        if use == Use.TOXIN:
            if not cleaned.get("substance", self.instance.substance):
                self.add_error("substance", "Say which toxin: units differ from one to the other.")
            cleaned["per"] = Per.SESSION
        else:
            if cleaned.get("substance"):
                self.add_error("use", "A toxin is chosen below: choose Toxin here, or none there.")
            if not cleaned.get("per"):
                self.add_error("per", "Say what the amount is counted for.")
        self.instance.per = cleaned.get("per") or ""

    def _clean_amounts(self, cleaned: dict) -> None:
        measure = Use(cleaned.get("use") or self.instance.use).measure
        for name in ("least", "most"):
            typed = cleaned.get(name)
            if not typed:
                cleaned[name] = None
                continue
            try:
                cleaned[name] = parse_amount(typed, measure)
            except AmountError as error:
                self.add_error(name, str(error))
        least, most = cleaned.get("least"), cleaned.get("most")
        if least is not None and most is not None and least > most:
            self.add_error(
                "least",
                f"{format_amount(least, measure)} is above {format_amount(most, measure)}. "
                "Swap them?",
            )


class WithdrawForm(forms.Form):
    """Why a supplied value holds no more."""

    reason = forms.CharField(
        label="Why it is withdrawn",
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 3, "dir": "auto"}),
        error_messages={"required": "Say why: the reason is shown beside the value."},
    )

    def __init__(self, *args, back: str, **kwargs):
        super().__init__(*args, **kwargs)
        self.back = back
        self.helper = FormHelper()
        self.helper.attrs = {"data-once": ""}
        self.helper.layout = Layout("reason", HTML('{% include "atlas/_form_actions.html" %}'))
