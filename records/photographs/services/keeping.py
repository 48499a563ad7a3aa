"""A patient's photographs: kept once, corrected in what they show, taken out for a reason."""

import hashlib
import uuid
from collections.abc import Mapping
from datetime import date, datetime, timedelta

from django.core.files.base import ContentFile
from django.db import IntegrityError, transaction
from django.utils import timezone

from clinic.audit.services import acting, changes, snapshot
from clinic.background.queue import tick_now
from clinic.pictures.cleaning import CleanPicture, clean_picture
from clinic.pictures.storage import private_pictures
from planning.standard_views import Shot
from records.patients.models import Patient
from records.photographs.enums import PictureSource, Use
from records.photographs.errors import PhotographConflict, PhotographError
from records.photographs.models import Photograph
from records.photographs.services.locking import lock_photograph
from records.photographs.services.uses import note_uses
from records.sessions.models import TreatmentSession

PHOTOGRAPH_FIELDS = [
    "key", "session", "view", "state", "taken_at", "source", "width", "height", "digest",
]  # fmt: skip
SHOWN_FIELDS = ["view", "state", "taken_at"]
# A device's clock may be a little ahead of ours.
CLOCK_SLACK = timedelta(minutes=10)
_OLDEST_YEAR = 1990


def keep_photograph(
    *,
    patient: Patient,
    key: uuid.UUID,
    sent: bytes,
    shot: Shot,
    source: PictureSource,
    uses: Mapping[Use, date | None],
    taken_at: datetime | None = None,
    session: TreatmentSession | None = None,
    actor,
) -> Photograph:
    """
    Keep a photograph once, however often it is sent, and note what the patient agreed to.

    The file is on the disk before its row is stored, and goes again if the row is not. Smaller
    pictures of it are made in the background.

    Args:
        key: the id made where it was taken or chosen.
        sent: the file as it came.
        uses: what it may be used for, each with its last day or None.
        taken_at: None: as the camera wrote it into the file, else now.

    Raises:
        PictureRefused: not a picture that can be kept.
        PhotographConflict: the key was sent before with another picture or for another patient.
        PhotographError: the session is another patient's.
        UseOver: an agreement would end before it begins.
    """
    sent_digest = hashlib.sha256(sent).hexdigest()
    if stored := _stored(patient, key, sent_digest):
        return stored
    if session is not None and session.patient_id != patient.pk:
        raise PhotographError("This session is another patient’s. Open the page from the session.")
    clean = clean_picture(sent)
    name = private_pictures().save("photograph", ContentFile(clean.data))
    try:
        photograph = Photograph(
            key=key, patient=patient, session=session, view=shot.view, state=shot.state,
            taken_at=taken_at or _by_camera(clean) or timezone.now(), added_by=actor, source=source,
            file=name, width=clean.width, height=clean.height, sent_digest=sent_digest,
            digest=hashlib.sha256(clean.data).hexdigest(),
        )  # fmt: skip
        kept = _kept(photograph, uses, actor)
    except BaseException:
        private_pictures().delete(name)
        raise
    if kept is not photograph:  # the same one came in the same moment
        private_pictures().delete(name)
    return kept


def correct_photograph(
    *, photograph: Photograph, shot: Shot, taken_at: datetime, actor
) -> Photograph:
    """
    Say anew what a photograph shows and when it was taken; the picture itself stays.

    Raises:
        PhotographGone: it was taken out meanwhile.
    """
    with acting(actor) as trail:
        photograph = lock_photograph(photograph)
        before = snapshot(photograph, SHOWN_FIELDS)
        photograph.view, photograph.state, photograph.taken_at = shot.view, shot.state, taken_at
        before, after = changes(before, snapshot(photograph, SHOWN_FIELDS))
        if after:
            photograph.save(update_fields=SHOWN_FIELDS)
            trail.add(
                "photograph.corrected", photograph, patient_id=photograph.patient_id,
                before=before, after=after,
            )  # fmt: skip
    return photograph


def take_out_photograph(*, photograph: Photograph, reason: str, actor) -> Photograph:
    """
    Take a photograph out of the record: it is shown and used no more. Row and file stay.

    Raises:
        PhotographError: no reason.
        PhotographGone: somebody was quicker.
    """
    if not reason.strip():
        raise PhotographError("Say why it is taken out: the reason stays in the record.")
    with acting(actor) as trail:
        photograph = lock_photograph(photograph)
        photograph.removed_at, photograph.removed_by = timezone.now(), actor
        photograph.removed_reason = reason.strip()
        photograph.save(update_fields=["removed_at", "removed_by", "removed_reason"])
        trail.add(
            "photograph.removed", photograph, patient_id=photograph.patient_id,
            before=snapshot(photograph, PHOTOGRAPH_FIELDS), reason=photograph.removed_reason,
        )  # fmt: skip
    return photograph


def _kept(photograph: Photograph, uses: Mapping[Use, date | None], actor) -> Photograph:
    """Store the row, or give the one that another request stored meanwhile."""
    with acting(actor) as trail:
        try:
            with transaction.atomic():
                photograph.save(force_insert=True)
        except IntegrityError:
            stored = _stored(photograph.patient, photograph.key, photograph.sent_digest)
            if stored is None:
                raise
            return stored
        trail.add(
            "photograph.kept", photograph, patient_id=photograph.patient_id,
            after=snapshot(photograph, PHOTOGRAPH_FIELDS),
        )  # fmt: skip
        note_uses(photograph=photograph, uses=uses, actor=actor)
        tick_now()
    return photograph


def _stored(patient: Patient, key: uuid.UUID, sent_digest: str) -> Photograph | None:
    stored = Photograph.objects.filter(key=key).first()
    if stored is None:
        return None
    if stored.patient_id != patient.pk:
        raise PhotographConflict("This photograph was stored for another patient already.")
    if stored.sent_digest != sent_digest:
        raise PhotographConflict("Another photograph was stored under this id. Take it anew.")
    return stored


def _by_camera(clean: CleanPicture) -> datetime | None:
    """What the camera wrote, as the clinic's own time; one that cannot be right says nothing."""
    if clean.taken_at is None or clean.taken_at.year < _OLDEST_YEAR:
        return None
    taken_at = timezone.make_aware(clean.taken_at)
    return taken_at if taken_at <= timezone.now() + CLOCK_SLACK else None
