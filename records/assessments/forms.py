"""The form of an assessment: every region with its scales and sides."""

import uuid
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from django import forms
from django.forms import BoundField

from planning.assessment import GradeError, RegionGrade, Scale, scales_of, sides_of
from planning.atlas.region_groups import RegionGroup
from planning.atlas.regions import Region
from planning.vocabulary import Side

NOT_GRADED = ""


@dataclass(frozen=True)
class GradeChoice:
    """One button: a grade with its word, or "not graded"."""

    value: str
    word: str
    is_chosen: bool


@dataclass(frozen=True)
class SideChoices:
    """The buttons of one side."""

    side: Side
    bound: BoundField
    choices: list[GradeChoice]

    @property
    def label(self) -> str:
        return "Whole" if self.side is Side.MIDLINE else self.side.label


@dataclass(frozen=True)
class Block:
    """One scale of one region."""

    region: Region
    scale: Scale
    sides: list[SideChoices]
    note: BoundField


@dataclass(frozen=True)
class Row:
    """One region."""

    region: Region
    blocks: list[Block]
    errors: list[str] = field(default_factory=list)

    @property
    def now(self) -> str:
        """What is chosen, in short: "right 2, left 3"; static/js/assessments.js repeats it."""
        return "; ".join(
            (f"{block.scale.label.lower()}: " if len(self.blocks) > 1 else "") + chosen
            for block in self.blocks
            if (chosen := _chosen(block))
        )


def _chosen(block: Block) -> str:
    return ", ".join(
        f"{side.label.lower()} {choice.value}"
        for side in block.sides
        for choice in side.choices
        if choice.is_chosen and choice.value != NOT_GRADED
    )


class AssessmentForm(forms.Form):
    """
    Grades and notes of every region; `grades` holds what was given once it is valid.

    Args:
        start_from: what stands on the page at first, as a rule what was seen the last time.
    """

    key = forms.UUIDField(widget=forms.HiddenInput, required=False)
    note = forms.CharField(
        label="Note on the whole",
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3, "dir": "auto"}),
    )

    def __init__(self, *args, start_from: Iterable[RegionGrade] = (), **kwargs):
        super().__init__(*args, **kwargs)
        self.grades: list[RegionGrade] = []
        self.initial.setdefault("key", uuid.uuid4())
        given = {(row.region, row.scale): row for row in start_from}
        for region, scale in _all_blocks():
            self._add_block(region, scale, given.get((region, scale)))

    def _add_block(self, region: Region, scale: Scale, given: RegionGrade | None) -> None:
        grades = dict(given.by_side) if given else {}
        words = [(str(grade), word) for grade, word in enumerate(scale.grades)]
        for side in sides_of(region):
            self.fields[_name(region, scale, side)] = forms.TypedChoiceField(
                choices=[(NOT_GRADED, "not graded"), *words],
                coerce=int,
                empty_value=None,
                required=False,
                initial=grades.get(side, NOT_GRADED),
                error_messages={
                    "invalid_choice": f"{region.label}, {side.label.lower()}: choose a grade from "
                    f"0 to {scale.most}, or none."
                },
            )
        self.fields[_name(region, scale, "note")] = forms.CharField(
            label="Note", required=False, max_length=200, initial=given.note if given else ""
        )

    def clean(self) -> dict:
        cleaned = super().clean() or self.cleaned_data
        for region, scale in _all_blocks():
            try:
                self.grades += self._graded(region, scale, cleaned)
            except GradeError as error:
                self.add_error(_name(region, scale, "note"), str(error))
        if not self.errors and not self.grades and not cleaned["note"].strip():
            self.add_error(None, "Grade at least one region, or write a note.")
        return cleaned

    def _graded(self, region: Region, scale: Scale, cleaned: dict) -> Iterator[RegionGrade]:
        """The row of one block; none where nothing was said."""
        by_side = {side: cleaned.get(_name(region, scale, side)) for side in sides_of(region)}
        note = (cleaned.get(_name(region, scale, "note")) or "").strip()
        if note or any(grade is not None for grade in by_side.values()):
            yield _row_of(region, scale, by_side, note)

    @property
    def shown(self) -> list[RegionGrade]:
        """What is chosen on the page now, as far as it can be a grade: for the drawing."""
        found = []
        for region, scale in _all_blocks():
            chosen: dict[Side, int | None] = {}
            for side in sides_of(region):
                value = str(self[_name(region, scale, side)].value())
                chosen[side] = int(value) if value in map(str, range(scale.most + 1)) else None
            try:
                found.append(_row_of(region, scale, chosen))
            except GradeError:
                continue
        return found

    @property
    def parts(self) -> list[tuple[RegionGroup, list[Row]]]:
        """The page from top to bottom."""
        return [(part, [self._row(region) for region in part.regions]) for part in RegionGroup]

    def _row(self, region: Region) -> Row:
        blocks = [self._block(region, scale) for scale in scales_of(region)]
        bound = [each.bound for block in blocks for each in block.sides]
        bound += [block.note for block in blocks]
        return Row(region, blocks, [str(error) for one in bound for error in one.errors])

    def _block(self, region: Region, scale: Scale) -> Block:
        sides = [self._side(side, self[_name(region, scale, side)]) for side in sides_of(region)]
        return Block(region, scale, sides, self[_name(region, scale, "note")])

    def _side(self, side: Side, bound: BoundField) -> SideChoices:
        value = bound.value()
        chosen = NOT_GRADED if value is None else str(value)
        choices = [
            GradeChoice(key, word, key == chosen)
            for key, word in bound.field.choices  # type: ignore[attr-defined]
        ]
        return SideChoices(side, bound, choices)


def _row_of(
    region: Region, scale: Scale, by_side: Mapping[Side, int | None], note: str = ""
) -> RegionGrade:
    return RegionGrade(
        region,
        scale,
        left=by_side[Side.LEFT],
        right=by_side[Side.RIGHT],
        midline=by_side.get(Side.MIDLINE),
        note=note,
    )


def _all_blocks() -> Iterator[tuple[Region, Scale]]:
    for part in RegionGroup:
        for region in part.regions:
            for scale in scales_of(region):
                yield region, scale


def _name(region: Region, scale: Scale, what: str) -> str:
    return f"{region}-{scale}-{what}"
