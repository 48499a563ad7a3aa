"""
The dilutions that are published, those that follow by arithmetic alone, and doses in common use.

Source of the published rows: two dilution guides of onabotulinumtoxinA (`sources.TOXIN_DILUTION`).
"""

from __future__ import annotations

from dataclasses import dataclass

from planning.dilution import Drawn, Vial

COMMON_DOSES = (100, 200, 250, 400, 500, 1_000, 2_000)
"""Centiunits; 4 and 20 units are those of the label, the others common practice, no source."""


@dataclass(frozen=True, slots=True)
class Row:
    """One way to make up a vial. `warning` is empty where nothing has to be said."""

    vial: Vial
    is_published: bool = False
    warning: str = ""

    @property
    def origin(self) -> str:
        return "published" if self.is_published else "arithmetic only"


ROWS = (
    Row(Vial(5_000, 1_250), is_published=True),
    Row(Vial(10_000, 2_500), is_published=True),
    Row(Vial(10_000, 1_000)),
    Row(Vial(10_000, 2_000)),
    Row(Vial(10_000, 4_000)),
    Row(Vial(10_000, 5_000)),
    Row(Vial(5_000, 2_500), warning="a small vial made up like a large one: half the strength"),
    Row(Vial(10_000, 1_250), warning="a large vial made up like a small one: twice the strength"),
    Row(Vial(20_000, 5_000)),
)


def common_doses(vial: Vial, marking_ul: int) -> tuple[tuple[int, Drawn], ...]:
    """(centiunits, what is drawn to a line) for each common dose that the vial holds."""
    return tuple(
        (dose, vial.drawn(dose, marking_ul)) for dose in COMMON_DOSES if dose <= vial.content
    )
