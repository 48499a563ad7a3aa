"""Units to be pulled, by the place they lie in."""

from dataclasses import dataclass

from records.recalls.models import CaseUnit, RecallCase

NOWHERE = "Nobody noted where"


@dataclass(frozen=True, slots=True)
class PullRow:
    """One unit of the case, and what is to be done about it."""

    row: CaseUnit
    is_here: bool

    @property
    def unit(self):
        return self.row.unit

    @property
    def place(self) -> str:
        return str(self.unit.place) if self.unit.place else NOWHERE

    @property
    def is_apart(self) -> bool:
        return self.row.pulled_at is not None

    @property
    def is_to_pull(self) -> bool:
        return self.is_here and not self.is_apart

    @property
    def is_to_leave(self) -> bool:
        """Set apart, and still in the house."""
        return self.is_here and self.is_apart


def pull_rows(case: RecallCase) -> list[PullRow]:
    """The units of the case by site, place, lot and label, in two queries."""
    units = case.units.select_related(
        "unit__lot__product", "unit__place__site", "pulled_by", "movement__by"
    )
    here = set(case.units.still_here().order_by().values_list("pk", flat=True))
    rows = [PullRow(row, row.pk in here) for row in units]
    # Not by the database: the two order names differently.
    return sorted(rows, key=lambda row: (_where(row), row.unit.lot.number, row.unit.label))


def _where(row: PullRow) -> tuple[bool, str, str]:
    """Units of which nobody knows where they lie come last."""
    place = row.unit.place
    if place is None:
        return True, "", ""
    return False, place.site.name.casefold(), place.name.casefold()
