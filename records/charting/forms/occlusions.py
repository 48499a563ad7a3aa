"""What the occlusion log's operations say."""

from datetime import datetime

from django import forms

from planning.atlas.regions import Region
from planning.occlusion import (
    LEAST_REASSESS_MINUTES,
    LONGEST_REFILL_TENTHS,
    MOST_REASSESS_MINUTES,
    WORST_PAIN,
    EmergencySign,
    Entry,
    Sign,
)
from planning.vocabulary import Side
from records.adverse_events.enums import Grade
from records.charting.forms.base import LARGEST_KEY, KeyData

# Hundredths of a unit; microlitres. More is a slip of the keys. Common practice, no source.
LARGEST_DOSE, LARGEST_DILUENT_UL = 10_000_000, 1_000_000
LARGEST_VERSION = 2**31 - 1
CLOCK_YEARS = range(1970, 3000)

# What a kind of line has to say, with the sentence where it does not, and what else it may say.
_PLACE = {"region", "side", "place"}
NEEDED: dict[Entry, dict[str, str]] = {
    Entry.FIRST_SIGN: {"moment": "Say when the first sign was seen."},
    Entry.SIGNS: {"signs": "Choose what is seen."},
    Entry.EMERGENCY: {},
    Entry.REFILL: {"refill_tenths": "Say how many seconds the refill took."},
    Entry.PAIN: {"pain": "Choose the pain from 0 to 10."},
    Entry.DOSE: {"dose_centiunits": "Type the units that were given."},
    Entry.CALL: {"whom": "Say who was called."},
    Entry.NOTE: {"text": "Write the note."},
    Entry.STEP: {"text": "Name the step."},
    Entry.PHOTO: {"picture": "The photograph is missing."},
    Entry.TIMER: {"minutes": "Choose after how many minutes to look again, from 15 to 60."},
    Entry.ENDED: {"grade": "Choose the grade before you end the log."},
}
MORE: dict[Entry, set[str]] = {
    Entry.SIGNS: _PLACE,
    Entry.EMERGENCY: {"signs"},
    Entry.REFILL: {"other_tenths", *_PLACE},
    Entry.DOSE: {"diluent_ul", "unit", "lot", *_PLACE},
}
SIGNS: dict[Entry, set[str]] = {Entry.SIGNS: set(Sign), Entry.EMERGENCY: set(EmergencySign)}


def _whole(least: int, most: int) -> forms.IntegerField:
    return forms.IntegerField(required=False, min_value=least, max_value=most)


def _one_of(words) -> forms.ChoiceField:
    return forms.ChoiceField(required=False, choices=[("", ""), *words.choices()])


class OccludeData(KeyData):
    """`protocol`: number of the version that the tablet showed; empty for the supplied steps."""

    protocol = _whole(1, LARGEST_VERSION)


class OcclusionNoteData(KeyData):
    """
    One line. What it says is kept under the names of the model's fields; `text` may stand in every
    kind. `signs` come as one text, "pallor,cold".
    """

    occlusion = forms.UUIDField()
    what = forms.ChoiceField(choices=Entry.choices())
    signs = forms.CharField(required=False, max_length=200)
    refill_tenths = _whole(1, LONGEST_REFILL_TENTHS)
    other_tenths = _whole(1, LONGEST_REFILL_TENTHS)
    pain = _whole(0, WORST_PAIN)
    dose_centiunits = _whole(1, LARGEST_DOSE)
    diluent_ul = _whole(1, LARGEST_DILUENT_UL)
    unit = _whole(1, LARGEST_KEY)
    lot = forms.CharField(required=False, max_length=60)
    region = _one_of(Region)
    side = _one_of(Side)
    place = forms.CharField(required=False, max_length=120)
    minutes = _whole(LEAST_REASSESS_MINUTES, MOST_REASSESS_MINUTES)
    moment = forms.DateTimeField(required=False)
    picture = forms.UUIDField(required=False)
    whom = forms.CharField(required=False, max_length=120)
    text = forms.CharField(required=False, max_length=2_000)
    grade = _one_of(Grade)

    def clean_moment(self) -> datetime | None:
        moment = self.cleaned_data["moment"]
        if moment and moment.year not in CLOCK_YEARS:
            raise forms.ValidationError("Say when the first sign was seen.")
        return moment

    def clean_signs(self) -> list[str]:
        return [sign for sign in self.cleaned_data["signs"].split(",") if sign]

    def clean(self) -> dict:
        data = super().clean()
        if not data.get("what"):
            return data
        what = Entry(data["what"])
        needed = NEEDED.get(what, {})
        for name, message in needed.items():
            if name not in self.errors and data.get(name) in (None, "", []):
                self.add_error(name, message)
        known = {"key", "occlusion", "what", "text", *needed, *MORE.get(what, set())}
        for name in [name for name, said in data.items() if name not in known]:
            if data[name] not in (None, "", []):
                self.add_error(None, f"{name} does not belong to a line “{what.label}”.")
        if not set(data.get("signs") or []) <= SIGNS.get(what, set()):
            self.add_error("signs", "This sign is not one that the clinic knows.")
        return data
