"""
What a check of a session is given (`SessionFacts`) and what it gives back (`Flag`).

A flag is advice with its source, never a verdict: the injector decides, and what was done is
recorded.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field
from datetime import date

from planning.care import CareElsewhere, CareKind, EarlierFiller
from planning.lidocaine import US_LABEL, LidocaineLimits, LidocaineSource
from planning.reference_ranges import REGION_RANGES, RegionRange
from planning.sources import Source
from planning.totals import PointAmount
from planning.vocabulary import Measure, Plane, ProductKind, Side, Term

# 20 mL per 60 kg, offered where the clinic sets its own figure; from memory, so never a default.
OFFERED_FILLER_UL_PER_60_KG_YEAR = 20_000

FILLERS = frozenset({ProductKind.HA_FILLER, ProductKind.OTHER_FILLER})


class FlagLevel(Term):
    """Most pressing first; the page shows them in this order."""

    CAUTION = "caution", "Caution"
    QUESTION = "question", "Please check"
    NOTE = "note", "Note"


@dataclass(frozen=True, slots=True)
class Flag:
    """One remark on a session. `code` names the check, `points` the entries it is about."""

    code: str
    level: FlagLevel
    text: str
    what_to_do: str
    source: Source
    points: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionPoint(PointAmount):
    """
    An injection entry as the checks see it.

    `number` is the one shown on the map. `substance` is the generic name of a toxin, or the
    product's name if that holds it. `plane` is None while not chosen. `confirmed` is what was asked
    about the amount when it was typed, a sentence, and `confirmed_by` who said that it is right;
    both are empty where nothing was asked.
    """

    number: int
    kind: ProductKind
    plane: Plane | None = None
    substance: str = ""
    lidocaine_ug_per_ml: int = 0
    with_epinephrine: bool = False
    confirmed: str = ""
    confirmed_by: str = ""

    def __post_init__(self) -> None:
        PointAmount.__post_init__(self)  # super() has no class to find in a slotted dataclass
        if self.measure is not self.kind.measure:
            raise ValueError(
                f"{self.kind.label} is not measured as a {self.measure.label.lower()}."
            )

    @property
    def is_filler(self) -> bool:
        return self.kind in FILLERS

    @property
    def is_toxin(self) -> bool:
        return self.kind is ProductKind.TOXIN


@dataclass(frozen=True, slots=True)
class ToxinGiven:
    """Toxin of one product in earlier sessions of the window, in centiunits."""

    product_key: Hashable
    substance: str
    centiunits: int


@dataclass(frozen=True, slots=True)
class LimitSettings:
    """
    The clinic's own figures; None means the clinic has not set one.

    Left and right of a region may differ by `side_difference_percent` of the larger. `wait_days`:
    days to wait after what a patient had elsewhere, by its kind. `region_ranges`: usual filler by
    region.
    """

    minimum_age_years: int | None = None
    filler_ul_per_60_kg_year: int | None = None
    filler_session_ul: int | None = None
    toxin_session_centiunits: int | None = None
    toxin_interval_days: int = 90
    toxin_ceiling_centiunits: int = 40_000
    side_difference_percent: int | None = 25
    wait_days: Mapping[CareKind, int] = field(default_factory=dict)
    region_ranges: Mapping[str, RegionRange] = field(default_factory=lambda: REGION_RANGES)
    lidocaine: LidocaineLimits = US_LABEL


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionFacts:
    """
    A session and what the record knows around it. None means not recorded, which is not zero.

    Args:
        today: the day of the session.
        points: the session's entries; the histories below leave this session out.
        age_years: completed years on that day.
        weight_g: body weight in grams.
        filler_ul_last_year: filler in the rolling year, microlitres.
        earlier_fillers: filler this clinic gave before, by region.
        last_toxin_date: the latest earlier session with toxin.
        last_toxin_by_region: the same for each region.
        toxin_last_3_months: toxin in the rolling three months, which begin with
            `toxin_window_from`. `review_dates.first_day_within` gives the first day of windows.
        care: what the patient had elsewhere.
        other_lidocaine: sources that are not points, such as a topical anaesthetic.
        planned: (region, side, product) -> amount the plan has there; empty without a plan.
    """

    today: date
    points: tuple[SessionPoint, ...]
    age_years: int | None = None
    weight_g: int | None = None
    filler_ul_last_year: int = 0
    earlier_fillers: tuple[EarlierFiller, ...] = ()
    last_toxin_date: date | None = None
    last_toxin_by_region: Mapping[str, date] = field(default_factory=dict)
    toxin_last_3_months: tuple[ToxinGiven, ...] = ()
    toxin_window_from: date | None = None
    care: tuple[CareElsewhere, ...] = ()
    other_lidocaine: tuple[LidocaineSource, ...] = ()
    planned: Mapping[tuple[str, Side, Hashable], int] = field(default_factory=dict)
    settings: LimitSettings = field(default_factory=LimitSettings)

    def __post_init__(self) -> None:
        if self.weight_g is not None and self.weight_g <= 0:
            raise ValueError("A weight is above 0; None means not recorded.")

    @property
    def fillers(self) -> tuple[SessionPoint, ...]:
        return tuple(point for point in self.points if point.is_filler)

    @property
    def toxins(self) -> tuple[SessionPoint, ...]:
        return tuple(point for point in self.points if point.is_toxin)

    @property
    def lidocaine_sources(self) -> tuple[LidocaineSource, ...]:
        """Inside the products that were injected, and beside them."""
        inside = (
            LidocaineSource(
                point.product_label, point.amount, point.lidocaine_ug_per_ml, point.with_epinephrine
            )
            for point in self.points
            if point.measure is Measure.VOLUME
        )
        return (*inside, *self.other_lidocaine)
