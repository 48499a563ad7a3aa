class TimeTaken(Exception):
    """The practitioner, the room or the patient is not free at that time."""


class AppointmentClosed(Exception):
    """The appointment took place or was cancelled and no longer changes."""


class AppointmentMoved(Exception):
    """A colleague moved the appointment since the page was shown."""


class ReasonMissing(Exception):
    """An appointment is cancelled without saying why."""


class NothingToBook(Exception):
    """A series without a single appointment, or with more than one may have."""


class AlreadySettled(Exception):
    """What the visit was to settle is closed, or has another visit."""
