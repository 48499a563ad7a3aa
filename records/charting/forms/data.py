"""What each kind of operation says. A value that no act can have is answered with a sentence."""

from typing import Any

from django import forms

from planning.atlas.regions import Region
from planning.vocabulary import (
    AnaesthesiaMethod,
    Aspiration,
    Diluent,
    Instrument,
    Jaw,
    Plane,
    Side,
    Technique,
    View,
)  # fmt: skip
from records.charting.enums import Kind
from records.charting.forms.base import LARGEST_KEY, DataForm, KeyData
from records.charting.forms.occlusions import OccludeData, OcclusionNoteData
from records.sessions.enums import Remainder
from records.sessions.forms.sentences import sentence
from records.time_out.enums import Item
from records.time_out.services import Answer

LARGEST_AMOUNT = 10**12
# Two metres, the largest photograph; the chart itself says what is on it.
FURTHEST_DMM = 20_000
LARGEST_PIXEL = 100_000


def _choice(label: str, words, *, required: bool = True) -> forms.ChoiceField:
    return forms.ChoiceField(
        label=label,
        required=required,
        choices=words.choices() if required else [("", ""), *words.choices()],
        error_messages={
            "required": f"Choose the {label.lower()}.",
            "invalid_choice": f"“%(value)s” is not a {label.lower()} that the clinic knows.",
        },
    )


def _row(message: str) -> forms.IntegerField:
    """The number of a row."""
    return forms.IntegerField(
        min_value=1, max_value=LARGEST_KEY, error_messages={"required": message}
    )


def _dmm(*, required: bool = True) -> forms.IntegerField:
    return forms.IntegerField(required=required, min_value=-FURTHEST_DMM, max_value=FURTHEST_DMM)


def _measure() -> forms.IntegerField:
    """Tenths of a millimetre; the session says what a face can have."""
    return forms.IntegerField(required=False, min_value=0, max_value=FURTHEST_DMM)


def _reason(label: str) -> forms.CharField:
    message = {"required": f"{label} is missing."}
    return forms.CharField(label=label, max_length=300, error_messages=message)


class Shared(dict):
    """Fields that no form changes: copying them for each form takes longer than the check."""

    def __deepcopy__(self, memo: dict) -> "Shared":
        return self


class StartData(DataForm):
    patient = _row("Choose the patient.")
    appointment = forms.IntegerField(required=False, min_value=1, max_value=LARGEST_KEY)
    jaw = _choice("Outline", Jaw)


class EditData(DataForm):
    """Only what is named is changed; a measure can be emptied."""

    jaw = _choice("Outline", Jaw, required=False)
    note = forms.CharField(required=False, max_length=20_000)
    pupil_dmm = _measure()
    face_height_dmm = _measure()
    face_width_dmm = _measure()

    def __init__(self, data: dict) -> None:
        super().__init__(data)
        self.named = [name for name in self.base_fields if name in data]

    def clean(self) -> dict:
        cleaned = super().clean()
        if "jaw" in self.named and not cleaned.get("jaw") and "jaw" not in self.errors:
            self.add_error("jaw", "Choose the outline.")
        if not self.named:
            self.add_error(None, "Nothing was changed.")
        return {name: cleaned.get(name) for name in self.named}


class UnitData(DataForm):
    unit = _row("Choose the unit.")


class OpenData(UnitData):
    diluent_ul = forms.IntegerField(required=False, min_value=1, max_value=1_000_000)
    diluent = _choice("Diluent", Diluent, required=False)
    no_diluent = forms.BooleanField(required=False)
    deviation = forms.CharField(required=False, max_length=300)
    confirmed_odd = forms.CharField(required=False, max_length=200)


class WasteData(UnitData):
    amount = forms.IntegerField(min_value=1, max_value=LARGEST_AMOUNT)
    reason = _reason("Why it was wasted")


class MoveData(KeyData):
    x_dmm, y_dmm = _dmm(), _dmm()
    reach_x_dmm, reach_y_dmm = _dmm(required=False), _dmm(required=False)

    def clean(self) -> dict:
        cleaned = super().clean()
        if (cleaned.get("reach_x_dmm") is None) != (cleaned.get("reach_y_dmm") is None):
            self.add_error(None, "Where it reaches needs both places, or neither.")
        return cleaned


class PointData(MoveData):
    unit = _row("Open a unit first, or touch the one you draw from.")
    view = _choice("View", View)
    picture = forms.UUIDField(required=False)
    region = _choice("Region", Region, required=False)
    side = _choice("Side", Side, required=False)
    plane = _choice("Plane", Plane)
    technique = _choice("Technique", Technique)
    instrument = _choice("Instrument", Instrument)
    gauge = forms.IntegerField(required=False, min_value=14, max_value=36)
    length_mm = forms.IntegerField(label="Length", required=False, min_value=2, max_value=120)
    aspiration = _choice("Aspiration", Aspiration)
    amount = forms.IntegerField(
        min_value=1, max_value=LARGEST_AMOUNT, error_messages={"required": "Type the amount."}
    )
    deviation = forms.CharField(required=False, max_length=300)
    confirmed_odd = forms.CharField(required=False, max_length=200)
    marking = forms.UUIDField(required=False)


class PlanData(KeyData):
    view = _choice("View", View)
    x_dmm, y_dmm = _dmm(), _dmm()
    region = _choice("Region", Region, required=False)
    side = _choice("Side", Side, required=False)

    def clean_view(self) -> str:
        view = self.cleaned_data["view"]
        if not View(view).is_drawn:
            raise forms.ValidationError("Markings go on the drawing, not on a photograph.")
        return view


class NumbData(KeyData):
    """`volume_ul` takes milligrams of a cream as microlitres."""

    method = _choice("Method", AnaesthesiaMethod)
    product = forms.CharField(max_length=200, error_messages={"required": "Name the anaesthetic."})
    lidocaine_ug_per_ml = forms.IntegerField(
        min_value=0, max_value=1_000_000, error_messages={"required": "Say how strong it is."}
    )
    with_epinephrine = forms.BooleanField(required=False)
    volume_ul = forms.IntegerField(
        min_value=1, max_value=1_000_000, error_messages={"required": "Type the amount."}
    )


class CheckData(DataForm):
    item = _choice("Item", Item)
    is_confirmed = forms.BooleanField(required=False)
    note = forms.CharField(required=False, max_length=300)
    facts = forms.CharField(required=False, max_length=1000)

    def clean(self) -> dict:
        cleaned = super().clean()
        if not cleaned.get("is_confirmed") and not cleaned.get("note"):
            self.add_error("note", "Confirm each item, or say why it is not so.")
        return cleaned


def _answer(row: Any) -> Answer:
    form = CheckData(row if isinstance(row, dict) else {})
    if not form.is_valid():
        raise forms.ValidationError(sentence(form))
    return Answer(**form.cleaned_data | {"item": Item(form.cleaned_data["item"])})


class TimeOutData(KeyData):
    """`checks`: each item once, as {item, is_confirmed, note, facts}."""

    NESTED = frozenset({"checks"})
    NESTED_KINDS = (list, type(None))

    checks = forms.JSONField(error_messages={"required": "Answer each item of the time-out."})

    def clean_checks(self) -> list[Answer]:
        answers = [_answer(row) for row in self.cleaned_data["checks"]]
        if sorted(one.item for one in answers) != sorted(Item):
            raise forms.ValidationError("Answer each item of the time-out once.")
        return answers


class DecideData(KeyData):
    """The stop in the words that were shown; `is_done`: written down after it was done."""

    gate = forms.CharField(max_length=100)
    title = forms.CharField(max_length=300)
    text = forms.CharField(required=False, max_length=2_000)
    source = forms.CharField(required=False, max_length=500)
    can_be_decided = forms.BooleanField(required=False)
    is_done = forms.BooleanField(required=False)
    reason = forms.CharField(
        max_length=500, error_messages={"required": "Write down why it was started all the same."}
    )


class CalibrateData(KeyData):
    x1, y1, x2, y2 = (forms.IntegerField(min_value=0, max_value=LARGEST_PIXEL) for _ in range(4))
    distance_dmm = forms.IntegerField(min_value=1, max_value=FURTHEST_DMM)
    on_pupils = forms.BooleanField(required=False)


class SetAsideData(DataForm):
    """The act says it all."""


class SignData(DataForm):
    NESTED = frozenset({"remainders"})

    remainders = forms.JSONField(required=False)
    proof = forms.CharField(max_length=64, error_messages={"required": "Sign with your code."})
    seen = forms.CharField(required=False, max_length=40)

    def clean_remainders(self) -> dict[int, Remainder]:
        """{unit: what became of the rest}; the units are text, as keys in JSON are."""
        given = self.cleaned_data["remainders"] or {}
        try:
            return {int(unit): Remainder(word) for unit, word in given.items() if word}
        except (ValueError, TypeError) as error:
            raise forms.ValidationError("Say for each unit what became of its rest.") from error


class AddendumData(DataForm):
    reason = _reason("Why the note needs it")
    text = forms.CharField(max_length=20_000, error_messages={"required": "Say what is added."})
    point = forms.UUIDField(required=False)


class WithdrawData(DataForm):
    operation = forms.UUIDField()


FORMS: dict[Kind, type[DataForm]] = {
    Kind.START: StartData,
    Kind.EDIT: EditData,
    Kind.OPEN: OpenData,
    Kind.PUT_BACK: UnitData,
    Kind.WASTE: WasteData,
    Kind.LOG: PointData,
    Kind.CHANGE: PointData,
    Kind.MOVE: MoveData,
    Kind.REMOVE: KeyData,
    Kind.RESTORE: KeyData,
    Kind.PLAN: PlanData,
    Kind.UNPLAN: KeyData,
    Kind.REPLAN: KeyData,
    Kind.NUMB: NumbData,
    Kind.NUMB_OFF: KeyData,
    Kind.NUMB_BACK: KeyData,
    Kind.TIME_OUT: TimeOutData,
    Kind.DECIDE: DecideData,
    Kind.CALIBRATE: CalibrateData,
    Kind.DROP_PICTURE: KeyData,
    Kind.OCCLUDE: OccludeData,
    Kind.OCCLUSION_NOTE: OcclusionNoteData,
    Kind.SET_ASIDE: SetAsideData,
    Kind.SIGN: SignData,
    Kind.ADDENDUM: AddendumData,
    Kind.WITHDRAW: WithdrawData,
}

for _form in FORMS.values():
    _form.base_fields = Shared(_form.base_fields)
