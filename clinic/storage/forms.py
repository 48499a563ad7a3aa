"""Forms of moving units."""

from django import forms
from django.db.models import QuerySet

from clinic.database.form_fields import name_what_is_required
from clinic.places.models import Place
from clinic.stock.models import UnitOfStock
from clinic.stock.naming import NotNamed, named

# Suggested, not required: what a reason usually is.
USUAL_REASONS = ["Put away after delivery", "For the next sessions", "Back to where it is kept"]


class ChoosingForm(forms.Form):
    """The units chosen so far, and the label or code of one more."""

    unit = forms.ModelMultipleChoiceField(UnitOfStock.objects.all(), required=False)
    code = forms.Field(required=False)

    def clean_code(self):
        """One more unit of those that the code can mean, or None."""
        code = self.cleaned_data["code"]
        if not code:
            return None
        try:
            meant = named(code)
        except NotNamed as error:
            raise forms.ValidationError(str(error)) from error
        if meant.lot is None:
            raise forms.ValidationError("No unit of this lot was received. Receive it first.")
        chosen = [unit.pk for unit in self.cleaned_data.get("unit", [])]
        here = meant.units.with_something_left()
        if one := here.exclude(pk__in=chosen).first():
            return one
        what = meant.unit or f"lot {meant.lot.number}"
        if not here:
            raise forms.ValidationError(f"Nothing is left of {what}.")
        raise forms.ValidationError(
            f"{what} is chosen already. Scan or type the label of the next one."
            if meant.unit
            else f"Every unit of {what} that is in the house is chosen already."
        )

    @property
    def chosen(self) -> QuerySet[UnitOfStock]:
        """To be shown, the one more among them; what no unit is was dropped."""
        units = [unit.pk for unit in self.cleaned_data.get("unit", [])]
        if one_more := self.cleaned_data.get("code"):
            units.append(one_more.pk)
        return units_chosen(units)


class MoveForm(forms.Form):
    """Where the chosen units go, and why."""

    unit = forms.ModelMultipleChoiceField(UnitOfStock.objects.all())
    place = forms.ModelChoiceField(
        Place.objects.in_use(), label="Put them into", empty_label="Choose a place"
    )
    reason = forms.CharField(
        max_length=300, widget=forms.TextInput(attrs={"list": "usual-reasons"}),
        help_text="Stands in the ledger of each unit.",
    )  # fmt: skip

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        name_what_is_required(self)
        self.fields["unit"].error_messages["required"] = "Choose at least one unit."
        self.fields["reason"].error_messages["required"] = (
            "Say why, in a few words: the reason stands in the ledger."
        )


def units_chosen(pks: list[int]) -> QuerySet[UnitOfStock]:
    units = UnitOfStock.objects.with_lot().select_related("place__site").filter(pk__in=pks)
    return units.order_by("lot__product__name", "lot_id", "id")
