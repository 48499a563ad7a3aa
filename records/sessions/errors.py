"""What a session refuses, each with the sentence shown to the person."""


class SessionError(Exception):
    """An act the session does not allow."""


class UnsignedElsewhere(SessionError):
    """Another injector has not signed this patient's last session yet."""


class AppointmentRefused(SessionError):
    """The appointment is another patient's, or has its session already."""


class SessionSigned(SessionError):
    """The session is signed; only addenda can be added."""


class SessionSetAside(SessionError):
    """The session was set aside as started by mistake; the patient's next one is a new one."""


class SessionNotEmpty(SessionError):
    """Something was written in the session, so it was not started by mistake."""


class OpeningRefused(SessionError):
    """The unit may not be opened or used: expired, quarantined, or another patient's."""


class UnitGone(OpeningRefused):
    """The unit is empty or has left the stock: nothing can have been drawn from it."""


class NotOnTray(SessionError):
    """The unit is not on the session's tray."""


class Overdrawn(SessionError):
    """More would be drawn than remains in the unit."""


class PointConflict(SessionError):
    """The same point id was sent before with other content."""


class RemainderOpen(SessionError):
    """What was left in a unit is neither recorded as waste nor kept."""


class PictureConflict(SessionError):
    """The same picture id was sent before with another picture."""
