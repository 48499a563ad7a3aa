from planning.vocabulary import Term


class Grade(Term):
    """
    How severe an adverse event is.

    Source: Common Terminology Criteria for Adverse Events (CTCAE) v5.0, grading scale.
    """

    MILD = "1", "Grade 1, mild"
    MODERATE = "2", "Grade 2, moderate"
    SEVERE = "3", "Grade 3, severe"
    LIFE_THREATENING = "4", "Grade 4, life-threatening"
    DEATH = "5", "Grade 5, death"

    @property
    def meaning(self) -> str:
        """What the grade stands for, in our own words."""
        return _MEANINGS[self]


_MEANINGS = {
    Grade.MILD: "No or mild symptoms; watched only.",
    Grade.MODERATE: "Needs little, local or non-invasive treatment, or hinders shopping, cooking "
    "or the phone.",
    Grade.SEVERE: "Severe or medically significant, not at once life-threatening: hospital, "
    "disabling, or hinders washing, dressing or eating.",
    Grade.LIFE_THREATENING: "Urgent intervention is needed. Blindness is graded 4 as well.",
    Grade.DEATH: "Death related to the event.",
}


class Seriousness(Term):
    """
    What makes an event serious, the gravest that holds; apart from how severe it is.

    Source: ICH E2A (`planning.sources.EVENT_SERIOUSNESS`).
    """

    NOT_SERIOUS = "not_serious", "Not serious"
    DEATH = "death", "Death"
    LIFE_THREATENING = "life_threatening", "Life-threatening"
    HOSPITAL = "hospital", "Hospital stay, or a longer one"
    DISABILITY = "disability", "Lasting or significant disability, loss of sight included"
    BIRTH_DEFECT = "birth_defect", "Congenital anomaly"
    IMPORTANT = "important", "Otherwise medically important, or treated to prevent the above"

    @property
    def is_serious(self) -> bool:
        return self is not Seriousness.NOT_SERIOUS


class Causality(Term):
    """
    How likely the product is the cause, as the injector judges it.

    Source: WHO-UMC (`planning.sources.EVENT_CAUSALITY`).
    """

    CERTAIN = "certain", "Certain"
    PROBABLE = "probable", "Probable"
    POSSIBLE = "possible", "Possible"
    UNLIKELY = "unlikely", "Unlikely"
    UNCLASSIFIED = "unclassified", "Not yet classified: more is needed"
    UNASSESSABLE = "unassessable", "Cannot be assessed"


class EventOutcome(Term):
    """How it ended; the words of HL7 FHIR's adverse event outcome."""

    ONGOING = "ongoing", "Ongoing"
    RECOVERING = "recovering", "Recovering"
    RECOVERED = "recovered", "Recovered"
    WITH_SEQUELAE = "with_sequelae", "Recovered with lasting effects"
    FATAL = "fatal", "Fatal"
    UNKNOWN = "unknown", "Unknown"

    @property
    def is_final(self) -> bool:
        """Whether an event can be closed with it."""
        return self not in {self.ONGOING, self.RECOVERING}
