"""What can go wrong with a patient's photographs. Each message is a sentence for the page."""


class PhotographError(Exception):
    """What was asked cannot be done with this photograph."""


class PhotographConflict(PhotographError):
    """The same id was sent before, with another picture or for another patient."""


class PhotographGone(PhotographError):
    """The photograph was taken out of the record."""


class UseOver(PhotographError):
    """The agreement ended or was withdrawn before, or it would end before it begins."""
