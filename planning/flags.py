"""
What a check of a session is given (`SessionFacts`) and what it gives back (`Flag`).

A flag is advice with its source, never a verdict: the injector decides, and what was done is
recorded.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, field
from datetime import date

from planning.lidocaine import US_LABEL, LidocaineLimits, LidocaineSource
from planning.sources import Source
from planning.totals import PointAmount
from planning.vocabulary import Plane, ProductKind, Term

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
    product's name if that holds it. `plane` is None while not chosen.
    """

    number: int
    kind: ProductKind
    plane: Plane | None = None
    substance: str = ""
    lidocaine_ug_per_ml: int = 0
    with_epinephrine: bool = False

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

    A point larger than `ask_filler_point_ul` or `ask_toxin_point_centiunits` is taken for a
    possible slip of the hand.
    """

    minimum_age_years: int | None = None
    filler_ul_per_60_kg_year: int | None = None
    toxin_interval_days: int = 90
    toxin_ceiling_centiunits: int = 40_000
    ask_filler_point_ul: int = 1_000
    ask_toxin_point_centiunits: int = 2_000
    lidocaine: LidocaineLimits = US_LABEL


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionFacts:
    """
    A session and what the record knows around it. None means not recorded, which is not zero.

    Args:
        today: the day of the session.
        points: the session's entries; the three histories below leave this session out.
        age_years: completed years on that day.
        weight_g: body weight in grams.
        filler_ul_last_year: filler in the rolling year, microlitres.
        last_toxin_date: the latest earlier session with toxin.
        toxin_last_3_months: toxin in the rolling three months. `review_dates.first_day_within`
            gives
            the first day of both windows.
        other_lidocaine: sources that are not points, such as a topical anaesthetic.
    """

    today: date
    points: tuple[SessionPoint, ...]
    age_years: int | None = None
    weight_g: int | None = None
    filler_ul_last_year: int = 0
    last_toxin_date: date | None = None
    toxin_last_3_months: tuple[ToxinGiven, ...] = ()
    other_lidocaine: tuple[LidocaineSource, ...] = ()
    settings: LimitSettings = field(default_factory=LimitSettings)

    def __post_init__(self) -> None:
        if self.weight_g is not None and self.weight_g <= 0:
            raise ValueError("A weight is above 0; None means not recorded.")
