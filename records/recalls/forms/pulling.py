"""Ticking units, and letting them go."""

from django import forms

from clinic.places.enums import PlaceKind
from clinic.places.models import Place
from clinic.stock.enums import MovementKind
from records.recalls.models import RecallCase


class UnitsField(forms.TypedMultipleChoiceField):
    """Ids of units of a case, ticked in a table."""

    def __init__(self, **options) -> None:
        super().__init__(coerce=int, **options)


class TickForm(forms.Form):
    """Units of one case that were ticked."""

    units = UnitsField(error_messages={
        "required": "Tick at least one unit.",
        "invalid_choice": "That unit is not of this case.",
    })  # fmt: skip

    def __init__(self, *args, case: RecallCase, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        units = case.units.order_by("pk").values_list("pk", flat=True)
        self.fields["units"].choices = [(pk, pk) for pk in units]  # type: ignore[attr-defined]

    @property
    def ticked(self) -> set[int]:
        """What stands ticked in the table, whether or not the form is valid."""
        sent = self["units"].value() or []
        return {int(each) for each in sent if str(each).isdecimal()}


class ApartForm(TickForm):
    place = forms.ModelChoiceField(
        Place.objects.in_use().filter(kind=PlaceKind.APART),
        required=False,
        label="They lie in",
        empty_label="Not said",
    )

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        places = self.fields["place"]
        if not places.queryset.exists():  # type: ignore[attr-defined]
            del self.fields["place"]


class NotFoundForm(forms.Form):
    looked_in = forms.CharField(
        label="Looked in",
        max_length=300,
        error_messages={"required": "Say where it was looked for."},
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )


class LeaveForm(TickForm):
    """Where the ticked units go, and who saw it."""

    kind = forms.ChoiceField(
        label="They are",
        choices=[
            (MovementKind.RETURNED.value, "returned to the supplier"),
            (MovementKind.WRITTEN_OFF.value, "destroyed"),
        ],
        widget=forms.RadioSelect,
        error_messages={"required": "Say what became of them."},
    )
    witness = forms.CharField(
        label="Seen by",
        max_length=200,
        error_messages={"required": "Name who saw it: a second person."},
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    reason = forms.CharField(
        label="Parcel's number, or how destroyed",
        max_length=250,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
