"""Why a patient's record refuses; each message is a sentence for the page."""


class PatientError(Exception):
    """The record cannot be written so."""


class AllergyOnRecord(PatientError):
    """ "No known allergies" is said of a patient whose record holds an allergy."""


class ReasonMissing(PatientError):
    """An alert is ended without saying why."""
