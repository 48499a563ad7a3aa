"""Rules about the values of an adverse event."""

from django.core.exceptions import ValidationError

from records.adverse_events.enums import EventOutcome, Grade


def check_fatal(grade: str, outcome: str) -> None:
    """
    Grade 5 stands for a death, so both say it or neither does.

    Raises:
        ValidationError: they contradict each other.
    """
    if (grade == Grade.DEATH) != (outcome == EventOutcome.FATAL):
        raise ValidationError(
            "Grade 5 and the outcome “fatal” go together: change the one that is wrong."
        )
