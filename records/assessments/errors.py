"""Why an assessment is refused; each message is a sentence for the page."""


class AssessmentError(Exception):
    """The assessment cannot be written so."""


class NothingAssessed(AssessmentError):
    """Neither a grade nor a note."""
