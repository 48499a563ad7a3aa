"""What the medical history refuses, each with the sentence shown to the person."""


class ScreeningError(Exception):
    """The questionnaire, a rule or a history cannot be written so."""


class FormClosed(ScreeningError):
    """The form was sent already, or another one took its place."""


class NothingToConfirm(ScreeningError):
    """ "Nothing changed" is said of a history that was never given, or of other questions."""


class RuleTaken(ScreeningError):
    """There is a rule for the same answer to the same question."""


class QuestionsWrong(ScreeningError):
    """A questionnaire without questions, or one that asks the same twice."""
