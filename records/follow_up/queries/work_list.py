"""
The follow-up list: everybody the clinic has to turn to, the most urgent first.

All sources are read whole and sorted here, for where a case stands and what comes next depend on
every try and on the moment: one rule, `planning.follow_up`, and not a second one in SQL.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property

from django.urls import reverse
from django.utils import timezone

from clinic.policy.models import ClinicPolicy
from planning.follow_up import (
    Case,
    Kind,
    Standing,
    Step,
    Tries,
    Visit,
    Way,
    next_step,
    standing_of,
    urgency,
    way_of,
)
from planning.warning_signs import Haste
from records.follow_up.queries.events import SOURCE as EVENTS
from records.follow_up.queries.found import Asked, Found, Person
from records.follow_up.queries.occlusions import SOURCE as OCCLUSIONS
from records.follow_up.queries.reviews import SOURCE as REVIEWS
from records.follow_up.queries.sources import SOURCES
from records.follow_up.queries.worries import SOURCE as WORRIES
from records.reminders.queries import ToSettle


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the list: who, where it stands, and the one next act."""

    found: Found
    standing: Standing
    step: Step
    is_postponed: bool
    clinical: bool

    @property
    def case(self) -> Case:
        return self.found.case

    @property
    def person(self) -> Person:
        return self.found.person

    @property
    def tries(self) -> Tries:
        return self.case.tries

    @property
    def key(self) -> str:
        return f"{self.case.source}-{self.case.pk}"

    @property
    def is_hidden(self) -> bool:
        """Whether this reader is told no more than to ask the injector."""
        return self.case.kind.is_clinical and not self.clinical

    @property
    def is_pressing(self) -> bool:
        """Whether minutes count: told to every reader, so that somebody fetches the injector."""
        is_grave = self.case.source == WORRIES and self.case.weight >= Haste.CLINIC_NOW
        return is_grave or self.case.source == OCCLUSIONS

    @property
    def hidden_since(self) -> datetime | None:
        """When it came, of what came at a moment: all that is told to whom it is hidden from."""
        return self.found.detail.at if self.case.source in {WORRIES, OCCLUSIONS} else None

    @property
    def about(self) -> str:
        """What a review is called that is due on a day."""
        is_check = self.case.kind is Kind.COMPLICATION
        return "Complication check" if is_check else self.case.kind.label

    @property
    def shows_way(self) -> Way:
        """The way that the row shows: of its step, else the preferred one."""
        is_called = self.step is Step.SETTLE or self.case.kind is Kind.WORRY
        if is_called and self.case.phone:
            return Way.PHONE
        if self.step in {Step.CALL, Step.SEND, Step.WRITE}:
            return way_of(self.case, self.step)
        return self.case.prefers

    @property
    def contact(self) -> str:
        """The number or address of that way as it is on record; may be empty."""
        return {Way.EMAIL: self.case.email, Way.LETTER: self.case.address}.get(
            self.shows_way, self.case.phone
        )

    @property
    def is_wrong(self) -> bool:
        """Whether what is on record proved wrong."""
        return bool(self.contact) and self.contact in self.tries.wrong

    @property
    def badge(self) -> str:
        """Which badge of static/css/badges.css shows where it stands."""
        return _BADGES.get(self.standing, self.standing.value)

    @property
    def when(self) -> str:
        """ "3 days late", "for 4 days", "today"; the visit of a review that has one."""
        detail = self.found.detail
        if self.case.source != REVIEWS:
            return ""
        if self.case.visit is not Visit.NONE:
            at = timezone.localtime(detail.appointment_at)
            seen = "seen " if self.case.visit is Visit.SEEN else ""
            return f"{seen}{at:%a} {at.day} {at:%b}, {at:%H:%M}"
        if detail.days_late > 0:
            return f"{_days(detail.days_late)} late"
        if detail.days_due > 0:
            return f"for {_days(detail.days_due)}"
        return "today" if detail.days_due == 0 else f"in {_days(-detail.days_due)}"

    @property
    def last_words(self) -> str:
        """What came of the last try."""
        last = self.tries.last
        return last.outcome.words(last.way) if last else ""

    @property
    def may_book(self) -> bool:
        """Whether a review has no visit that is still to be settled."""
        return self.case.visit is Visit.NONE

    @property
    def contact_url(self) -> str:
        """Where a try is noted; nowhere for what is settled on a page of its own."""
        if self.case.kind in {Kind.RETURNED, Kind.WORRY} or self.case.source == OCCLUSIONS:
            return ""
        return reverse(f"follow-up-{self.case.source}", args=[self.case.pk])

    @property
    def send_url(self) -> str:
        return reverse("reminder-send-review", args=[self.case.pk])

    @property
    def open_url(self) -> str:
        """The page of what is open."""
        return reverse(_PAGES[self.case.source], args=[self.case.pk])

    @property
    def settle_url(self) -> str:
        """The same row among the messages."""
        return f"{reverse('reminder-list')}#{self.key}"

    @property
    def visit_url(self) -> str:
        """The day of the visit; the patient's page where no single visit is known."""
        if self.case.source != REVIEWS:
            return reverse("patient-detail", args=[self.person.pk])
        day = timezone.localdate(self.found.detail.appointment_at)
        return f"{reverse('appointment-list')}?day={day}"


_PAGES = {
    WORRIES: "aftercare-answer",
    OCCLUSIONS: "occlusion-detail",
    EVENTS: "adverse-event-detail",
}
_BADGES = {Standing.FIRST: "urgent", Standing.UNREACHABLE: "missing"}


def _days(count: int) -> str:
    return f"{count} day{'' if count == 1 else 's'}"


@dataclass(frozen=True)
class FollowUp:
    """
    The list as it is at one moment for one reader.

    Attributes:
        limit: so many fruitless tries make a patient unreachable.
        clinical: whether the reader reads clinical detail.
        kind, standing: only those; None for all that is not booked.
    """

    asked: Asked
    limit: int
    clinical: bool
    kind: Kind | None = None
    standing: Standing | None = None

    @cached_property
    def everything(self) -> list[tuple[Standing, Found]]:
        """All cases of the sources, the most urgent first, those that are booked last."""
        found = [one for source in SOURCES for one in source(self.asked)]
        found.sort(key=lambda one: urgency(one.case, limit=self.limit, now=self.asked.now))
        return [(standing_of(one.case, limit=self.limit), one) for one in found]

    @cached_property
    def of_kind(self) -> list[tuple[Standing, Found]]:
        if self.kind is None:
            return self.everything
        return [pair for pair in self.everything if pair[1].case.kind is self.kind]

    @cached_property
    def counts(self) -> dict[Standing, int]:
        """How many stand how."""
        counted = Counter(standing for standing, _ in self.of_kind)
        return {standing: counted[standing] for standing in Standing}

    @property
    def total(self) -> int:
        """How many the clinic has to turn to."""
        return sum(count for term, count in self.counts.items() if term is not Standing.BOOKED)

    @property
    def came_back(self) -> list[ToSettle]:
        """What the desk has to settle among the messages, the nearest visit first."""
        back = (one.detail for _, one in self.everything if one.case.kind is Kind.RETURNED)
        return sorted(back, key=lambda row: row.pressing)

    @cached_property
    def shown(self) -> list[tuple[Standing, Found]]:
        if self.standing is None:
            return [pair for pair in self.of_kind if pair[0] is not Standing.BOOKED]
        return [pair for pair in self.of_kind if pair[0] is self.standing]

    def __len__(self) -> int:
        return len(self.shown)

    def __getitem__(self, part: slice) -> list[Row]:
        return [self._row(standing, one) for standing, one in self.shown[part]]

    def _row(self, standing: Standing, found: Found) -> Row:
        step = next_step(found.case, limit=self.limit, clinical=self.clinical)
        is_postponed = found.case.tries.is_postponed(self.asked.now)
        return Row(found, standing, step, is_postponed, self.clinical)


def follow_up(
    policy: ClinicPolicy,
    *,
    clinical: bool,
    now: datetime | None = None,
    injector_id: int | None = None,
    kind: Kind | None = None,
    standing: Standing | None = None,
) -> FollowUp:
    """The list as the policy has it, now if no other moment is named."""
    now = now or timezone.now()
    on = timezone.localdate(now)
    asked = Asked(on, now, on + timedelta(days=policy.review_lead_days), injector_id)
    return FollowUp(asked, policy.contact_tries, clinical, kind, standing)


def reached_since(moment: datetime, pairs: Iterable[tuple[Standing, Found]]) -> int:
    """How many of the cases that are still waiting were spoken to since that moment."""
    return sum(
        1
        for standing, found in pairs
        if standing is not Standing.BOOKED
        and found.case.tries.is_reached
        and (last := found.case.tries.last) is not None
        and last.at >= moment
    )
