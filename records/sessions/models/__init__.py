"""
Treatment sessions and their injection entries ("points").

Until it is signed a session can be worked on; afterwards triggers refuse every change of it and of
what hangs on it, and only addenda are added. Points carry an id made where they were tapped, so
that sending one twice stores it once.
"""

from records.sessions.models.addenda import Addendum
from records.sessions.models.anaesthesia import Anaesthesia
from records.sessions.models.places import Marking, SessionPicture, StandingQuerySet
from records.sessions.models.points import InjectionEntry
from records.sessions.models.sittings import MEASURES_DMM, SessionQuerySet, TreatmentSession
from records.sessions.models.tray import Opening, SessionUnit

__all__ = [
    "MEASURES_DMM",
    "Addendum",
    "Anaesthesia",
    "InjectionEntry",
    "Marking",
    "Opening",
    "SessionPicture",
    "SessionQuerySet",
    "SessionUnit",
    "StandingQuerySet",
    "TreatmentSession",
]
