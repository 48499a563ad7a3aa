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


class EventOutcome(Term):
    """How it ended; the words of HL7 FHIR's adverse event outcome."""

    ONGOING = "ongoing", "Ongoing"
    RECOVERING = "recovering", "Recovering"
    RECOVERED = "recovered", "Recovered"
    WITH_SEQUELAE = "with_sequelae", "Recovered with lasting effects"
    FATAL = "fatal", "Fatal"
    UNKNOWN = "unknown", "Unknown"
