from planning.screening import Said
from planning.vocabulary import Term


class QuestionKind(Term):
    """How a question is answered."""

    YES_NO = "yes_no", "Yes or no"
    DETAIL = "detail", "Yes or no, with words"
    TEXT = "text", "Words"

    @property
    def is_chosen(self) -> bool:
        """Whether yes, no or not sure is chosen; else it is written alone."""
        return self is not QuestionKind.TEXT


class Way(Term):
    """How the questionnaire reaches the patient."""

    TABLET = "tablet", "On the clinic’s tablet"
    LINK = "link", "By a link"
    STAFF = "staff", "Read out by staff"


class CheckKind(Term):
    """What was done about a history that was given."""

    READ = "read", "Read and checked"
    UNCHANGED_PATIENT = "unchanged_patient", "Nothing changed, says the patient on the tablet"
    UNCHANGED_STAFF = "unchanged_staff", "Nothing changed, asked by staff"

    @property
    def renews(self) -> bool:
        """Whether the history counts as given anew."""
        return self is not CheckKind.READ


# The answers a rule can wait for; "not sure" meets both of the first two by itself.
RULE_ANSWERS = (Said.YES, Said.NO, Said.WRITTEN)
