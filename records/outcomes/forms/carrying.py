"""What of last time is given once more as a top-up."""

from collections.abc import Iterable, Sequence
from copy import copy
from dataclasses import dataclass
from typing import Any

from django import forms
from django.forms import BoundField

from planning.amounts import AmountError, format_amount, parse_amount, unit_of
from planning.vocabulary import Side
from records.outcomes.queries.reviews import asks_for_side
from records.plans.models import PlanLine

_PLANNED_SIDES = [("", "Left or right?"), *Side.choices()[:2]]


@dataclass(frozen=True)
class CarryRow:
    """
    A line of last time: whether it is carried over, and how much of it. `side` is asked where the
    points lay in the midline of a region that comes in pairs, which no plan has a side for.
    """

    line: PlanLine
    chosen: BoundField
    amount: BoundField
    side: BoundField | None

    @property
    def unit(self) -> str:
        return unit_of(self.line.measure)


class CarryForm(forms.Form):
    """
    Which points of last time go into the plan, and how much.

    Args:
        lines: of last time, not saved.
        wanted: regions that are chosen at first.
    """

    def __init__(
        self, *args, lines: Sequence[PlanLine], wanted: Iterable[str] = (), **kwargs
    ) -> None:
        super().__init__(*args, **kwargs)
        self.lines, regions = lines, set(wanted)
        for number, line in enumerate(lines):
            self.fields[f"take-{number}"] = forms.BooleanField(
                label=f"{line}: carry over", required=False, initial=line.region in regions
            )
            self.fields[f"amount-{number}"] = forms.CharField(
                label=f"{line}: amount", required=False, initial=line.plain_amount,
                widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
            )  # fmt: skip
            if asks_for_side(line):
                self.fields[f"side-{number}"] = forms.ChoiceField(
                    label=f"{line}: planned for", required=False, choices=_PLANNED_SIDES
                )

    @property
    def rows(self) -> list[CarryRow]:
        return [
            CarryRow(
                line,
                self[f"take-{number}"],
                self[f"amount-{number}"],
                self[f"side-{number}"] if asks_for_side(line) else None,
            )
            for number, line in enumerate(self.lines)
        ]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        self.chosen: list[PlanLine] = []
        for number, line in enumerate(self.lines):
            if data.get(f"take-{number}"):
                self._choose(number, line, data)
        if not self.errors and not self.chosen:
            raise forms.ValidationError("Choose at least one line to carry over.")
        return data

    def _choose(self, number: int, line: PlanLine, data: dict[str, Any]) -> None:
        planned = copy(line)  # the page still says what it was last time
        if asks_for_side(line):
            planned.side = data.get(f"side-{number}") or line.side
            if planned.side == line.side:
                self.add_error(
                    f"side-{number}", "This region comes in pairs: choose left or right."
                )
        try:
            planned.amount = parse_amount(data.get(f"amount-{number}") or "", line.measure)
        except AmountError as error:
            self.add_error(f"amount-{number}", str(error))
            return
        if planned.amount > line.amount:
            most = format_amount(line.amount, line.measure)
            self.add_error(
                f"amount-{number}",
                f"Last time it was {most}: a top-up is at most that. Plan more in the plan itself.",
            )
            return
        self.chosen.append(planned)
