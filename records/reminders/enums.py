from planning.vocabulary import Term


class MessageKind(Term):
    """What a message tells. The value is stored, and part of a message's key."""

    CONFIRMATION = "confirmation", "Confirmation"
    REMINDER = "reminder", "Reminder"
    CHANGED = "changed", "New time"
    CANCELLED = "cancelled", "Cancellation"
    REVIEW = "review", "Review invitation"
    OFFER = "offer", "Offer of a free time"
    AFTERCARE = "aftercare", "Aftercare sheet"
    CHECK_IN = "check_in", "Question of the day after"
    QUESTIONS = "questions", "Questions before a visit"

    @property
    def tells_the_time(self) -> bool:
        """Whether it is what tells the patient when to come."""
        return self in (MessageKind.CONFIRMATION, MessageKind.CHANGED)

    @property
    def brings_a_link(self) -> bool:
        """To confirm or ask for a change, to take a time on offer, or to a page of its own."""
        return self.is_of_a_booking or self in _LINKED

    @property
    def is_of_a_visit(self) -> bool:
        """Whether it can tell a day, a time and a place."""
        return self not in _OF_NO_VISIT

    @property
    def page(self) -> str:
        """Name of the address its link leads to; other capabilities' are known by name alone."""
        return _PAGES.get(self, "reminder-answer")

    @property
    def is_of_a_booking(self) -> bool:
        """Whether it holds as long as the visit is booked for the time it tells."""
        return self.tells_the_time or self == MessageKind.REMINDER


_LINKED = (
    MessageKind.OFFER, MessageKind.AFTERCARE, MessageKind.CHECK_IN, MessageKind.QUESTIONS,
)  # fmt: skip
_OF_NO_VISIT = (
    MessageKind.REVIEW, MessageKind.AFTERCARE, MessageKind.CHECK_IN, MessageKind.QUESTIONS,
)  # fmt: skip
_PAGES = {
    MessageKind.AFTERCARE: "aftercare-page",
    MessageKind.CHECK_IN: "aftercare-check-in",
    MessageKind.QUESTIONS: "screening-by-link",
}


class MessageRoute(Term):
    """How a message goes; "call" where the clinic must speak to the patient instead."""

    EMAIL = "email", "E-mail"
    SMS = "sms", "Text message"
    CALL = "call", "Call"


class MessageState(Term):
    """
    Where a message is.

    It is marked as being sent before it leaves. One whose sending was cut off is asked about at the
    back end; if that cannot say either, it is unsure and a person decides.
    """

    WAITING = "waiting", "Waiting"
    SENDING = "sending", "Being sent"
    SENT = "sent", "Sent"
    TO_CALL = "to_call", "To call"
    UNDELIVERABLE = "undeliverable", "Undeliverable"
    UNSURE = "unsure", "Unsure"
    SETTLED = "settled", "Settled"
    WITHDRAWN = "withdrawn", "Withdrawn"
    KNOWN = "known", "Told before"

    @property
    def needs_a_person(self) -> bool:
        return self in (MessageState.TO_CALL, MessageState.UNDELIVERABLE, MessageState.UNSURE)

    @property
    def badge(self) -> str:
        """Which badge of static/css/badges.css shows it."""
        return _BADGES[self]


_BADGES = {
    MessageState.WAITING: "booked",
    MessageState.SENDING: "booked",
    MessageState.SENT: "done",
    MessageState.TO_CALL: "due",
    MessageState.UNDELIVERABLE: "overdue",
    MessageState.UNSURE: "due",
    MessageState.SETTLED: "done",
    MessageState.WITHDRAWN: "cancelled",
    MessageState.KNOWN: "excused",
}


class AnswerKind(Term):
    """What a patient says by the link of a message."""

    COMES = "comes", "Confirmed"
    CHANGE = "change", "Asks for a change"
    CANNOT = "cannot", "Cannot come"

    @property
    def asks(self) -> bool:
        """Whether the clinic has to do something about it."""
        return self != AnswerKind.COMES
