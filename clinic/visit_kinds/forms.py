"""The form of one kind of visit; the page shows all of them."""

from collections.abc import Sequence

from crispy_forms.bootstrap import AppendedText
from crispy_forms.helper import FormHelper
from crispy_forms.layout import Field, Layout, Row
from django import forms

from clinic.database.form_fields import name_what_is_required
from clinic.database.seen_values import SEEN, SeenValuesForm
from clinic.rooms.models import Room
from clinic.rooms.queries import named_apart
from clinic.visit_kinds.enums import AppointmentKind
from clinic.visit_kinds.models import (
    LONGEST_BUFFER_MINUTES,
    LONGEST_MINUTES,
    STEP_MINUTES,
    VisitKind,
)
from clinic.visit_kinds.queries import visit_kinds


def _minutes_field(label: str, least: int, most: int, **options) -> forms.IntegerField:
    words = f"Type whole minutes from {least} to {most}, in steps of {STEP_MINUTES}."
    codes = ("invalid", "min_value", "max_value", "step_size")
    return forms.IntegerField(
        label=label, min_value=least, max_value=most, step_size=STEP_MINUTES,
        error_messages=dict.fromkeys(codes, words), **options,
    )  # fmt: skip


class VisitKindForm(SeenValuesForm):
    minutes = _minutes_field("Length", STEP_MINUTES, LONGEST_MINUTES)
    preparation_minutes = _minutes_field("Preparation before", 0, LONGEST_BUFFER_MINUTES)
    buffer_minutes = _minutes_field("Buffer after", 0, LONGEST_BUFFER_MINUTES)
    rooms = forms.TypedMultipleChoiceField(
        label="Rooms that suit",
        required=False,
        coerce=int,
        widget=forms.CheckboxSelectMultiple,
        help_text="None: it needs no room.",
    )

    class Meta:
        model = VisitKind
        fields = ["minutes", "preparation_minutes", "buffer_minutes", "is_active"]
        labels = {"is_active": "Offered at booking"}

    def __init__(self, *args, instance, rooms, **kwargs):
        self.is_default = instance._state.adding
        chosen = [] if self.is_default else [room.pk for room in instance.rooms.all()]
        super().__init__(*args, instance=instance, initial={"rooms": chosen}, **kwargs)
        name_what_is_required(self)
        self._rooms = {room.pk: room for room in rooms}
        self.fields["rooms"].choices = named_apart(rooms)
        self.helper = FormHelper()
        self.helper.form_tag = False
        self.helper.disable_csrf = True
        self.helper.layout = Layout(
            SEEN,
            Row(
                AppendedText("minutes", "min"),
                AppendedText("preparation_minutes", "min"),
                AppendedText("buffer_minutes", "min"),
            ),
            *(["rooms"] if rooms else []),
            Field("is_active"),
        )

    @property
    def chosen_rooms(self) -> list[Room]:
        return [self._rooms[pk] for pk in self.cleaned_data["rooms"]]


def refuse_none_offered(forms: Sequence[VisitKindForm]) -> bool:
    """Whether all (valid) forms together leave nothing to book; the first one says so then."""
    is_nothing_offered = not any(form.cleaned_data["is_active"] for form in forms)
    if is_nothing_offered:
        words = "Offer at least one kind of visit: nobody could be booked otherwise."
        forms[0].add_error("is_active", words)
        forms[0].helper.form_error_title = f"Not saved yet. {words}"
    return is_nothing_offered


def kind_forms(data=None) -> list[VisitKindForm]:
    """A form for each kind, in their order, with the rooms in use and those chosen before."""
    kinds = visit_kinds()
    chosen = {
        room.pk for kind in kinds.values() if not kind._state.adding for room in kind.rooms.all()
    }
    rooms = [
        room
        for room in Room.objects.select_related("site")
        if room.pk in chosen or (room.is_active and room.site.is_active)
    ]
    return [
        VisitKindForm(data, instance=kinds[kind], prefix=kind.value, rooms=rooms)
        for kind in AppointmentKind
    ]
