from planning.vocabulary import Term
from records.patients.enums import Channel


class RecallClass(Term):
    """
    How serious the regulator holds it to be.

    Source: 21 CFR 7.3(m), classes I to III; elsewhere a notice often states none.
    """

    ONE = "1", "Class I"
    TWO = "2", "Class II"
    THREE = "3", "Class III"
    NOT_STATED = "none", "Not stated"


class ContactOutcome(Term):
    """What came of one attempt to reach a patient, or that the patient answered."""

    SENT = "sent", "Sent"
    NO_ANSWER = "no_answer", "No answer"
    MESSAGE_LEFT = "message_left", "Message left"
    INFORMED = "informed", "Spoken to, and told"
    REPLIED = "replied", "Patient replied"
    CAME_BACK = "came_back", "Came back undelivered"
    WRONG_DETAILS = "wrong_details", "Number or address is wrong"
    DECLINED = "declined", "Wants no further contact"

    @property
    def has_reached(self) -> bool:
        """Whether the patient is known to have the message."""
        return self in {self.INFORMED, self.REPLIED, self.DECLINED}

    @property
    def has_notified(self) -> bool:
        """Whether the message is on its way, or with the patient."""
        return self.has_reached or self in {self.SENT, self.MESSAGE_LEFT}

    @property
    def has_failed(self) -> bool:
        """Whether what was sent by the same channel before did not arrive."""
        return self in {self.CAME_BACK, self.WRONG_DETAILS}

    def fits(self, channel: Channel) -> bool:
        """A letter is not answered with a busy line, and a call does not come back."""
        if channel is Channel.PHONE:
            return self not in {self.SENT, self.CAME_BACK}
        return self not in {self.NO_ANSWER, self.MESSAGE_LEFT}


class Reach(Term):
    """How far a patient of the case has got."""

    TO_CONTACT = "to_contact", "To be contacted"
    TRIED = "tried", "Tried, not reached"
    REACHED = "reached", "Reached"

    @property
    def badge(self) -> str:
        """Which badge of static/css/badges.css shows it."""
        return {self.TO_CONTACT: "due", self.TRIED: "tried", self.REACHED: "done"}[self]


class CheckResult(Term):
    """What the effectiveness check of one patient found."""

    EFFECTIVE = "effective", "Has the message and understood it"
    NOT_EFFECTIVE = "not_effective", "Does not know of it"
    NOT_REACHED = "not_reached", "Could not be asked"


class Whom(Term):
    """Which patients of a case a mailing goes to."""

    NOT_REACHED = "not_reached", "Not reached yet"
    TO_CONTACT = "to_contact", "Not tried yet"
    ALL = "all", "All"
