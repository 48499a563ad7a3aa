"""What is chosen, marked and printed."""

from collections.abc import Iterable, Mapping

from django import forms

from clinic.access.enums import Role
from planning.alignment import AlignmentError, check_apart
from planning.atlas.geometry import Cell
from planning.landmarks import Landmark, marks_of
from records.photographs.enums import OUTSIDE, Use
from records.photographs.models import Photograph

_TWO = 2


class ChoosePairForm(forms.Form):
    """Two of the photographs that the page shows."""

    picture = forms.ModelMultipleChoiceField(
        Photograph.objects.none(),
        to_field_name="key",
        error_messages={
            "required": "Choose two pictures.",
            "invalid_choice": "This picture is no longer there. Choose two others.",
            "invalid_pk_value": "This picture is no longer there. Choose two others.",
        },
    )

    def __init__(self, *args, photographs, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["picture"].queryset = photographs  # type: ignore[attr-defined]

    def clean_picture(self):
        chosen = list(self.cleaned_data["picture"])
        if len(chosen) != _TWO:
            raise forms.ValidationError(f"Choose two pictures, not {len(chosen)}.")
        return chosen


class MarksForm(forms.Form):
    """Two whole numbers for each mark of the view, in pixels of the photograph."""

    def __init__(self, *args, photograph: Photograph, places: Mapping[Landmark, Cell], **kwargs):
        super().__init__(*args, **kwargs)
        self.landmarks = marks_of(photograph.shot.view).landmarks
        for landmark in self.landmarks:
            place = places.get(landmark, (None, None))
            sizes = (photograph.width, photograph.height)
            for axis, value, size in zip("xy", place, sizes, strict=True):
                outside = f"The picture is {size} pixels: type a number from 0 to {size - 1}."
                self.fields[f"{landmark}_{axis}"] = forms.IntegerField(
                    label="Across" if axis == "x" else "Down",
                    required=False, min_value=0, max_value=size - 1, initial=value,
                    error_messages={
                        "min_value": outside, "max_value": outside,
                        "invalid": "Type a whole number of pixels.",
                    },
                )  # fmt: skip

    def clean(self):
        cleaned = super().clean()
        for landmark in self.landmarks:
            names = [f"{landmark}_{axis}" for axis in "xy"]
            empty = [name for name in names if cleaned.get(name) is None]
            if len(empty) == 1 and not self.errors.keys() & set(names):
                self.add_error(empty[0], "Type both numbers of this mark, or neither.")
        if not self.errors:
            self._check_places(self.places)
        return cleaned

    def _check_places(self, places: Mapping[Landmark, Cell]) -> None:
        if len(places) < _TWO:
            self.add_error(None, "Set at least two marks, then save.")
            return
        try:
            check_apart(list(places.values()))
        except AlignmentError as error:
            self.add_error(None, str(error))

    @property
    def places(self) -> dict[Landmark, Cell]:
        """Of each mark that was set."""
        found = {
            landmark: (self.cleaned_data[f"{landmark}_x"], self.cleaned_data[f"{landmark}_y"])
            for landmark in self.landmarks
        }
        return {landmark: place for landmark, place in found.items() if None not in place}

    @property
    def rows(self) -> list[tuple[Landmark, forms.BoundField, forms.BoundField]]:
        """Each mark with its two fields."""
        return [(each, self[f"{each}_x"], self[f"{each}_y"]) for each in self.landmarks]


class SheetForm(forms.Form):
    """What a sheet is printed for: the record, and beyond it for the practice owner alone."""

    use = forms.TypedChoiceField(label="Printed for", coerce=Use)

    def __init__(self, *args, roles: Iterable[Role], **kwargs) -> None:
        super().__init__(*args, **kwargs)
        choices = [(use.value, use.label) for use in Use]
        if Role.OWNER not in roles:
            choices = [(key, label) for key, label in choices if key not in OUTSIDE]
        self.fields["use"].choices = choices  # type: ignore[attr-defined]
        wrong = "Choose what the sheet is for. Teaching and publication are the practice owner’s."
        self.fields["use"].error_messages = {"required": wrong, "invalid_choice": wrong}
