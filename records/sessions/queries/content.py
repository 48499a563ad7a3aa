"""What was written in a session."""

from records.sessions.models import TreatmentSession


def content_of(session: TreatmentSession) -> list[str]:
    """
    In words, what stands in the way of setting the session aside; nothing if it is empty. A removed
    point counts, for it was logged; the waste of a session is that of a unit on its tray.
    """
    rows = {
        "points": session.points,
        "units on the tray": session.tray,
        "planned places": session.markings.standing(),
        "photographs": session.pictures.standing(),
        "anaesthesia": session.anaesthesia.standing(),
        "a time-out": session.time_out_checks,
        "an occlusion log": session.occlusions,
    }
    held = [name for name, found in rows.items() if found.exists()]
    return [*held, "a note"] if session.note else held
