"""The demo's photographs: drawn, taken before a treatment and four weeks after it."""

import uuid
from datetime import date, timedelta
from functools import partial

from django.utils import timezone

from planning.standard_views import PhotoView, Shot
from records.comparisons.services.marks import place_marks
from records.demo.clinic import at
from records.demo.faces import LANDMARKS, Camera, Lines, drawn_face
from records.demo.portraits import BEFORE, LATER, Portrait
from records.demo.story import Story
from records.photographs.enums import PictureSource, Use
from records.photographs.services.keeping import keep_photograph
from records.sessions.models import TreatmentSession

_AFTER = timedelta(days=28)
_TEACHING = timedelta(days=365)


def photograph(story: Story, session: TreatmentSession, plan: list[str]) -> None:
    """Take a series of this patient, if one of the portraits waits for such a treatment."""
    day = timezone.localdate(session.started_at)
    portrait = next((each for each in story.portraits if _fits(story, each, plan, day)), None)
    if portrait is None or session.patient.photographs.exists():
        return
    story.portraits.remove(portrait)
    _take(session, portrait, portrait.before, BEFORE)
    if portrait.later and day + _AFTER < story.today:
        act = partial(_take, session, portrait, portrait.later, LATER)
        story.diary.note(at(day + _AFTER, 10), act)


def _fits(story: Story, portrait: Portrait, plan: list[str], day: date) -> bool:
    return portrait.treatment in plan and (story.today - day).days <= portrait.days_ago


def _take(session: TreatmentSession, portrait: Portrait, lines: Lines, camera: Camera) -> None:
    """Each view of the portrait, now; the front views are marked too, to be compared."""
    today = timezone.localdate()
    uses: dict[Use, date | None] = {Use.RECORD: None}
    if portrait.is_taught:
        uses[Use.TEACHING] = today + _TEACHING
    for shot in portrait.shots:
        kept = keep_photograph(
            patient=session.patient,
            key=_key(session, shot, today),
            sent=drawn_face(portrait.look, shot, lines, camera),
            shot=shot,
            source=PictureSource.CAMERA,
            uses=uses,
            session=session if today == timezone.localdate(session.started_at) else None,
            actor=session.injector,
        )
        if shot.view is PhotoView.FRONT:
            places = {landmark: camera.mark(landmark) for landmark in LANDMARKS}
            place_marks(photograph=kept, places=places, actor=session.injector)


def _key(session: TreatmentSession, shot: Shot, day: date) -> uuid.UUID:
    """The same each time the same demo is written."""
    return uuid.uuid5(uuid.NAMESPACE_OID, f"{session.patient.record_number} {shot.key} {day}")
