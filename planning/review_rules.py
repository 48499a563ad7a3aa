"""
Which of the clinic's rules asks for a review of a treatment, and which reviews are one visit.

In stages, each of them pure: what a session gave (`Given`) and what the patient had before make an
event; each thing given chooses the most specific active rule; the rules chosen become dates
(`review_dates`); dates that one visit can answer are joined.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from planning.atlas.region_groups import RegionGroup
from planning.review_dates import ReviewDates, day_in_words
from planning.vocabulary import ProductKind, Term


class ReviewEvent(Term):
    """What a rule follows. The first stands for each of the three below it."""

    TREATMENT = "treatment", "Any treatment"
    FIRST = "first", "First treatment of that kind"
    LATER = "later", "Later treatment of that kind"
    TOP_UP = "top_up", "Top-up"
    ADVERSE_EVENT = "adverse_event", "Adverse event"


@dataclass(frozen=True, slots=True)
class Given:
    """One kind of product in one part of the body."""

    kind: ProductKind
    group: RegionGroup


@dataclass(frozen=True, slots=True)
class RuleChoice:
    """
    What a rule is for, without its dates.

    Attributes:
        key: of the rule; between rules that fit equally well the smaller one wins.
        kind, group: None for any.
    """

    key: int
    event: ReviewEvent
    kind: ProductKind | None = None
    group: RegionGroup | None = None

    def fits(self, event: ReviewEvent, kind: ProductKind | None, group: RegionGroup | None) -> bool:
        """Whether it is meant for this; a kind or group that nobody knows fits only "any"."""
        is_meant = self.event is event or (
            self.event is ReviewEvent.TREATMENT and event is not ReviewEvent.ADVERSE_EVENT
        )
        return is_meant and self.kind in (None, kind) and self.group in (None, group)

    @property
    def rank(self) -> tuple[int, bool, bool, bool, int]:
        """
        The smaller, the more specific. More of kind, event and part named comes first; of equally
        many the kind counts before the event, and the event before the part; then the older rule.
        """
        open_kind = self.kind is None
        open_event = self.event is ReviewEvent.TREATMENT
        open_group = self.group is None
        named_too_few = open_kind + open_event + open_group
        return named_too_few, open_kind, open_event, open_group, self.key


def most_specific(
    rules: Iterable[RuleChoice],
    event: ReviewEvent,
    *,
    kind: ProductKind | None,
    group: RegionGroup | None,
) -> RuleChoice | None:
    """The rule that decides; None if none is meant for this, and the general rule decides."""
    fitting = (rule for rule in rules if rule.fits(event, kind, group))
    return min(fitting, key=lambda rule: rule.rank, default=None)


def asking(given: Iterable[Given]) -> set[Given]:
    """
    What asks for a review. An anaesthetic goes with something else, and a medicine against an
    emergency follows from it: neither asks for one of its own, unless nothing else was given.
    """
    everything = set(given)
    beside = (ProductKind.ANAESTHETIC, ProductKind.EMERGENCY)
    without = {one for one in everything if one.kind not in beside}
    return without or everything


def event_of(on: date, earlier: Iterable[date], *, top_up_days: int) -> ReviewEvent:
    """
    What a treatment on `on` is, by the patient's earlier treatments with the same kind of product.

    Args:
        top_up_days: up to so many days after the last one it is a top-up.
    """
    last = max(earlier, default=None)
    if last is None:
        return ReviewEvent.FIRST
    return ReviewEvent.TOP_UP if on - last <= timedelta(days=top_up_days) else ReviewEvent.LATER


@dataclass(frozen=True, slots=True)
class Asked:
    """
    A review that one rule asks for.

    Attributes:
        key: of the rule; None for the clinic's general rule.
        words: label, interval and source.
        label: the rule's name; "" for the general one.
    """

    key: int | None
    dates: ReviewDates
    words: str
    label: str = ""


@dataclass(frozen=True, slots=True)
class Visit:
    """One visit that answers all of `asked`, in the order of their dates."""

    asked: tuple[Asked, ...]
    earliest: date
    target: date
    latest: date

    @property
    def words(self) -> str:
        """Those of its rules, and why it is on this day where none of them names it."""
        rules = [one.words for one in self.asked]
        if all(one.dates.target != self.target for one in self.asked):
            first = "only" if self.earliest == self.latest else "first"
            suited = "both" if len(rules) == 2 else f"all {len(rules)}"
            rules.append(f"{day_in_words(self.target)} is the {first} open day that suits {suited}")
        return "; ".join(rules)

    @property
    def label(self) -> str:
        """The names of its rules, each once."""
        return ", ".join(dict.fromkeys(one.label for one in self.asked if one.label))

    @property
    def moved_from(self) -> date | None:
        """The closed day from which it was moved, if its day is that of a review that was."""
        own = (one.dates for one in self.asked if one.dates.target == self.target)
        return next((dates.shifted_from for dates in own), None)


def visits(asked: Iterable[Asked], is_open: Callable[[date], bool]) -> list[Visit]:
    """
    The fewest visits in the order of the dates: each takes in what follows while one day suits all.

    That day is the earliest target that lies in all windows; where none does, the first open day of
    the days that the windows share. Windows that share no open day stay visits of their own.
    """
    found: list[Visit] = []
    for one in sorted(asked, key=lambda one: (one.dates.target, one.dates.earliest, one.key or 0)):
        joined = _joined((*found[-1].asked, one), is_open) if found else None
        if joined:
            found[-1] = joined
        else:
            found.append(_alone(one))
    return found


def _alone(one: Asked) -> Visit:
    return Visit((one,), one.dates.earliest, one.dates.target, one.dates.latest)


def _joined(asked: Sequence[Asked], is_open: Callable[[date], bool]) -> Visit | None:
    earliest = max(one.dates.earliest for one in asked)
    latest = min(one.dates.latest for one in asked)
    shared = [one.dates.target for one in asked if earliest <= one.dates.target <= latest]
    target = min(shared, default=None) or _first_open(earliest, latest, is_open)
    return Visit(tuple(asked), earliest, target, latest) if target else None


def _first_open(first: date, last: date, is_open: Callable[[date], bool]) -> date | None:
    days = (first + timedelta(days=offset) for offset in range((last - first).days + 1))
    return next((day for day in days if is_open(day)), None)
