"""
Whom the clinic turns to next, and with which one act.

A case is one thing that somebody waits for: a worry after a treatment, a review to be arranged, a
patient of a recall who was not told yet, an adverse event without a next visit, a message that came
back or an answer that asks for something. From what is known of
it follow where it stands, how urgent it is, and the one next step; the day, the moment and the
clinic's number of tries are arguments.

Worries that nobody looked into come first, then complications and recalls: all can mean harm. The
order of the rest, the number of tries and what follows on them: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from typing import NamedTuple

from planning.review_dates import ReviewState
from planning.vocabulary import Term


class Kind(Term):
    """What somebody is turned to for, the most pressing first."""

    WORRY = "worry", "Worry after a treatment"
    COMPLICATION = "complication", "Complication"
    RECALL = "recall", "Recall"
    RETURNED = "returned", "Message or answer"
    REVIEW = "review", "Review"
    TOP_UP = "top_up", "Top-up"

    @property
    def comes_first(self) -> bool:
        return self in _FIRST

    @property
    def is_clinical(self) -> bool:
        """Whether who does not read clinical detail is told no more than to ask the injector."""
        return self in _CLINICAL

    @property
    def is_review(self) -> bool:
        return self in _REVIEWS


# Made once: a list asks thousands of cases.
_FIRST = frozenset({Kind.WORRY, Kind.COMPLICATION, Kind.RECALL})
_CLINICAL = frozenset({Kind.WORRY, Kind.COMPLICATION})
_REVIEWS = frozenset({Kind.REVIEW, Kind.TOP_UP})


class Standing(Term):
    """Where a case stands, the most pressing first."""

    FIRST = "first", "Comes first"
    OVERDUE = "overdue", "Overdue"
    DUE = "due", "Due"
    UNREACHABLE = "unreachable", "Not reached"
    SOON = "planned", "Due soon"
    BOOKED = "booked", "Booked"


class Way(Term):
    """How a patient can be reached."""

    PHONE = "phone", "Phone"
    SMS = "sms", "Text message"
    EMAIL = "email", "E-mail"
    LETTER = "letter", "Letter"


class TryOutcome(Term):
    """What came of one try to reach a patient."""

    REACHED = "reached", "Reached"
    NO_ANSWER = "no_answer", "No answer"
    MESSAGE_LEFT = "message_left", "Message left"
    WRONG = "wrong", "Wrong number or address"
    LATER = "later", "To be called later"

    def fits(self, way: Way) -> bool:
        """A letter is not answered with a busy line."""
        return self is not TryOutcome.NO_ANSWER or way is Way.PHONE

    @property
    def may_name_when(self) -> bool:
        """Whether it goes with a moment from which the patient is turned to again."""
        return self not in {TryOutcome.REACHED, TryOutcome.WRONG}

    def words(self, way: Way) -> str:
        """As the button says it: a letter is sent, a message is left."""
        if self is TryOutcome.MESSAGE_LEFT and way is not Way.PHONE:
            return {Way.SMS: "Text sent", Way.EMAIL: "E-mail sent"}.get(way, "Letter sent")
        if self is TryOutcome.WRONG:
            return "Wrong number" if way in {Way.PHONE, Way.SMS} else "Came back"
        if self is TryOutcome.REACHED and way is not Way.PHONE:
            return "Patient answered"
        return self.label


class Visit(Term):
    """What is known of the visit that a case is booked for."""

    NONE = "none", "Not booked"
    TO_COME = "to_come", "Booked"
    UNSAID = "unsaid", "Nobody said what became of the visit"
    SEEN = "seen", "The patient was seen"


class Step(Term):
    """The one next act."""

    ASK = "ask", "Ask the injector"
    OPEN = "open", "Open"
    SETTLE = "settle", "Settle"
    CALL = "call", "Call"
    SEND = "send", "Send"
    WRITE = "write", "Write"
    FIND = "find", "Complete the details"
    BOOK = "book", "Book"
    VISIT = "visit", "To the visit"
    CLOSE = "close", "Review done"
    EXCUSE = "excuse", "Excuse"


class Try(NamedTuple):
    """
    One try to reach a patient.

    Attributes:
        again_at: from when on the patient is to be turned to again, if that was said.
        used: the number or address that was tried; needed where it was wrong.
    """

    way: Way
    outcome: TryOutcome
    at: datetime
    again_at: datetime | None = None
    used: str = ""


class Tries(NamedTuple):
    """
    All tries of one case.

    Attributes:
        made: how many there were.
        fruitless: in a row since the patient was last spoken to.
        is_reached: the last of them reached the patient.
        is_written: a letter or e-mail is among the fruitless ones.
        wrong: numbers and addresses that proved wrong.
    """

    made: int = 0
    fruitless: int = 0
    is_reached: bool = False
    is_written: bool = False
    last: Try | None = None
    wrong: frozenset[str] = frozenset()

    def is_postponed(self, now: datetime) -> bool:
        return self.last is not None and self.last.again_at is not None and self.last.again_at > now


def folded(tries: Iterable[Try]) -> Tries:
    """
    What the tries come to, given in the order in which they were made.

    Whoever was reached, or asked to be called later, can be reached: the count starts anew.
    """
    found = Tries()
    for one in tries:
        spoken_to = one.outcome in {TryOutcome.REACHED, TryOutcome.LATER}
        written = one.way in {Way.EMAIL, Way.LETTER}
        is_wrong = one.outcome is TryOutcome.WRONG and bool(one.used)
        found = Tries(
            made=found.made + 1,
            fruitless=0 if spoken_to else found.fruitless + 1,
            is_reached=one.outcome is TryOutcome.REACHED,
            is_written=not spoken_to and (found.is_written or written),
            last=one,
            wrong=found.wrong | {one.used} if is_wrong else found.wrong,
        )
    return found


NO_TRIES = Tries()


class Case(NamedTuple):
    """
    One thing that somebody waits for.

    Attributes:
        source, pk: which list it comes from and its id there; together they name it.
        state: how a review stands by its dates; DUE for what has none.
        deadline_on: a review's last day that suits; of a message or answer the day of its visit;
            the day since which anything else waits.
        weight: the heavier first among those of a kind: a worry's haste, an event's grade, a
            recall's class.
        phone, email, address: as they are on record, empty where nothing is.
        may_send: a message can be sent from here: the patient agreed to it and it can be done.
        is_sent: one was written for this case, whatever became of it.
    """

    kind: Kind
    source: str
    pk: int
    state: ReviewState
    deadline_on: date
    weight: int = 0
    visit: Visit = Visit.NONE
    prefers: Way = Way.PHONE
    phone: str = ""
    email: str = ""
    address: str = ""
    tries: Tries = NO_TRIES
    may_send: bool = False
    is_sent: bool = False

    def detail(self, way: Way) -> str:
        """The number or address that the way needs; empty if none is on record, or it is wrong."""
        found = {Way.EMAIL: self.email, Way.LETTER: self.address}.get(way, self.phone)
        return "" if found in self.tries.wrong else found

    @property
    def has_a_way(self) -> bool:
        return any(self.detail(way) for way in (Way.PHONE, Way.EMAIL, Way.LETTER))


_BY_DATES = {
    ReviewState.OVERDUE: Standing.OVERDUE,
    ReviewState.DUE: Standing.DUE,
    ReviewState.PLANNED: Standing.SOON,
}


def standing_of(case: Case, *, limit: int) -> Standing:
    """
    Where it stands.

    Args:
        limit: so many fruitless tries make a patient unreachable; > 0.
    """
    if case.visit is Visit.TO_COME:
        return Standing.BOOKED
    if case.kind.comes_first:
        return Standing.FIRST
    if case.visit is Visit.NONE and case.tries.fruitless >= limit:
        return Standing.UNREACHABLE
    return _BY_DATES[case.state]


def next_step(case: Case, *, limit: int, clinical: bool) -> Step:
    """
    The one next act; there always is one.

    Args:
        limit: as `standing_of`.
        clinical: whether whoever asks reads clinical detail. Somebody who does not asks the
            injector where a worry or a complication is open.
    """
    if case.visit in {Visit.TO_COME, Visit.UNSAID}:
        return Step.VISIT
    if case.kind.is_clinical and not clinical:
        return Step.ASK
    if case.visit is Visit.SEEN:
        return Step.CLOSE
    if case.kind is Kind.WORRY or case.source in {"event", "occlusion"}:
        return Step.OPEN
    if case.kind is Kind.RETURNED:
        return Step.SETTLE
    if case.tries.is_reached:
        return Step.BOOK
    if case.kind is Kind.RECALL:
        return _step_of_recall(case, limit)
    if case.tries.fruitless >= limit:
        may_write = case.detail(Way.LETTER) and not case.tries.is_written
        return Step.WRITE if may_write else Step.EXCUSE
    return _step_towards(case)


def _step_of_recall(case: Case, limit: int) -> Step:
    """By telephone whatever is preferred, then in writing; nobody of a recall is ever excused."""
    can_write = case.detail(Way.EMAIL) or case.detail(Way.LETTER)
    if case.detail(Way.PHONE):
        by_letter_now = case.tries.fruitless >= limit and not case.tries.is_written
        return Step.WRITE if by_letter_now and can_write else Step.CALL
    return Step.WRITE if can_write else Step.FIND


def _step_towards(case: Case) -> Step:
    """How the patient is turned to, as preferred where that can be done."""
    if case.prefers is Way.LETTER and case.detail(Way.LETTER):
        return Step.WRITE
    by_message = case.prefers in {Way.SMS, Way.EMAIL} and case.detail(case.prefers)
    if by_message and case.may_send and not case.is_sent:
        return Step.SEND
    if case.detail(Way.PHONE):
        return Step.CALL
    return Step.WRITE if case.has_a_way else Step.FIND


def way_of(case: Case, step: Step) -> Way:
    """By which way the step turns to the patient; by telephone where it does not say."""
    if step is Step.SEND:
        return case.prefers
    if step is Step.WRITE:
        by_letter = case.prefers is Way.LETTER or case.tries.fruitless > 0
        if not case.detail(Way.EMAIL) or (by_letter and case.detail(Way.LETTER)):
            return Way.LETTER
        return Way.EMAIL
    return Way.PHONE


Urgency = tuple[int, bool, int, int, int, date, str, int]
_KINDS = {kind: place for place, kind in enumerate(Kind)}
_STANDINGS = {standing: place for place, standing in enumerate(Standing)}


def urgency(case: Case, *, limit: int, now: datetime) -> Urgency:
    """
    By what the list is sorted, the smallest first: no two cases have the same.

    Worries, complications and recalls, then the rest, then what is booked. Whoever asked to be
    called later waits behind the others of that part until then. Reviews and top-ups go by
    standing, then by the last day that suits.
    """
    standing = standing_of(case, limit=limit)
    if standing is Standing.BOOKED:
        part = 2
    else:
        part = 0 if case.kind.comes_first else 1
    kind = Kind.REVIEW if case.kind.is_review else case.kind
    return (
        part,
        case.tries.is_postponed(now),
        _KINDS[kind],
        -case.weight,
        _STANDINGS[standing],
        case.deadline_on,
        case.source,
        case.pk,
    )
