class TimeTaken(Exception):
    """The practitioner or the patient is not free at that time."""


class AppointmentClosed(Exception):
    """The appointment took place or was cancelled and no longer changes."""


class ReasonMissing(Exception):
    """An appointment is cancelled without saying why."""
