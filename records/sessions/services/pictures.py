"""The patient's own photographs in a session: kept, given their scale, taken out."""

import hashlib
import uuid
from datetime import datetime

from django.core.files.base import ContentFile
from django.db import IntegrityError, transaction
from django.utils import timezone

from clinic.audit.services import acting, changes, snapshot
from clinic.pictures.cleaning import (
    PRINTED_LONG_SIDE,
    CleanPicture,
    clean_picture,
    smaller_picture,
)
from clinic.pictures.storage import private_pictures
from planning.atlas.calibration import Calibration, CalibrationError
from records.sessions.errors import PictureConflict, SessionError
from records.sessions.models import SessionPicture, TreatmentSession
from records.sessions.services.sittings import lock_session, refuse_signed

# Enough to put points on.
LONG_SIDE = 2400
PICTURE_FIELDS = ["session", "key", "width", "height", "digest", "taken_at"]
SCALE_FIELDS = ["x1", "y1", "x2", "y2", "distance_dmm", "on_pupils"]


def keep_picture(
    *, session: TreatmentSession, key: uuid.UUID, sent: bytes, taken_at: datetime, actor
) -> SessionPicture:
    """
    Keep a photograph once, however often it is sent: again after signing too.

    The file is on the disk before its row is stored, and goes again if the row is not.

    Args:
        key: the id made where it was taken.
        sent: the file as it came.
        taken_at: by the device's clock.

    Raises:
        PictureRefused: not a picture that can be kept.
        PictureConflict: the key was sent before with another picture.
        SessionSigned: the session is signed.
    """
    sent_digest = hashlib.sha256(sent).hexdigest()
    if stored := _stored(session, key, sent_digest):
        return stored
    refuse_signed(session)
    photograph = clean_picture(sent, long_side=LONG_SIDE)
    name = private_pictures().save("photograph", ContentFile(photograph.data))
    try:
        picture = SessionPicture(
            key=key, session=session, file=name, taken_at=taken_at, added_by=actor,
            sent_digest=sent_digest, **_columns(photograph),
        )  # fmt: skip
        kept = _kept(picture, actor)
    except BaseException:
        private_pictures().delete(name)
        raise
    if kept is not picture:  # the same one came in the same moment
        private_pictures().delete(name)
    return kept


def calibrate(
    *,
    picture: SessionPicture,
    x1: int,
    y1: int,
    x2: int,
    y2: int,
    distance_dmm: int,
    on_pupils: bool = False,
    actor,
) -> SessionPicture:
    """
    Give a photograph its scale: two of its places and how far apart they are.

    Args:
        x1, y1, x2, y2: pixels of the stored picture, origin top left.
        distance_dmm: tenths of a millimetre.
        on_pupils: both places are the pupils of a face seen from the front.

    Raises:
        SessionError: no scale comes of it, the picture was taken out, or a point was put on it by
            the scale it has: that point would lie elsewhere.
    """
    with acting(actor) as trail:
        session = refuse_signed(lock_session(picture.session_id))
        picture = _standing(picture)
        scale = _scale(picture, x1, y1, x2, y2, distance_dmm)
        before = snapshot(picture, SCALE_FIELDS)
        wanted = {**vars(scale), "on_pupils": on_pupils}
        # A removed point can come back, so it counts.
        if before != wanted and picture.points.exists():
            raise SessionError(
                "Points were put on this photograph by the scale it has, so the scale stays. Add "
                "the photograph once more to give it another one."
            )
        for name, value in wanted.items():
            setattr(picture, name, value)
        picture.save(update_fields=SCALE_FIELDS)
        before, after = changes(before, snapshot(picture, SCALE_FIELDS))
        if after:
            trail.add(
                "picture.calibrated", picture, patient_id=session.patient_id,
                before=before, after=after,
            )  # fmt: skip
    return picture


def drop_picture(*, picture: SessionPicture, actor) -> None:
    """
    Take a photograph without points out of an unsigned session; its file goes for good. Taking it
    out twice changes nothing.

    Raises:
        SessionError: points are on it.
    """
    with acting(actor) as trail:
        session = refuse_signed(lock_session(picture.session_id))
        picture = SessionPicture.objects.select_for_update().get(pk=picture.pk)
        if picture.removed_at is not None:
            return
        if picture.points.standing().exists():
            raise SessionError("Points are on this photograph. Remove them first, then it can go.")
        picture.removed_at = timezone.now()
        picture.save(update_fields=["removed_at"])
        before = snapshot(picture, PICTURE_FIELDS)
        trail.add("picture.removed", picture, patient_id=session.patient_id, before=before)
        name = str(picture.file.name)
        transaction.on_commit(lambda: private_pictures().delete(name))


def picture_bytes(picture: SessionPicture) -> bytes:
    """
    The kept JPEG.

    Raises:
        FileNotFoundError: the file is gone, as after a restore of the database alone.
    """
    with private_pictures().open(str(picture.file.name)) as file:
        return file.read()


def picture_image(picture: SessionPicture) -> bytes:
    """The JPEG at a size for paper. Raises as `picture_bytes`."""
    return smaller_picture(picture_bytes(picture), long_side=PRINTED_LONG_SIDE).data


def _kept(picture: SessionPicture, actor) -> SessionPicture:
    """Store the row, or give the one that another request stored meanwhile."""
    with acting(actor) as trail:
        session = lock_session(picture.session_id)
        if stored := _stored(session, picture.key, picture.sent_digest):
            return stored
        refuse_signed(session)
        try:
            with transaction.atomic():
                picture.save(force_insert=True)
        except IntegrityError as error:
            # The lock is per session: another session may bring the same key in the same moment.
            if SessionPicture.objects.filter(key=picture.key).exists():
                raise PictureConflict(_OTHER_SESSION) from error
            raise
        trail.add(
            "picture.kept", picture, patient_id=session.patient_id,
            after=snapshot(picture, PICTURE_FIELDS),
        )  # fmt: skip
    return picture


_OTHER_SESSION = "This photograph was stored in another session already."


def _stored(session: TreatmentSession, key: uuid.UUID, sent_digest: str) -> SessionPicture | None:
    stored = SessionPicture.objects.filter(key=key).first()
    if stored is None:
        return None
    if stored.session_id != session.pk:
        raise PictureConflict(_OTHER_SESSION)
    if stored.sent_digest != sent_digest:
        raise PictureConflict("Another photograph was stored under this id before. Add it anew.")
    return stored


def _standing(picture: SessionPicture) -> SessionPicture:
    stored = SessionPicture.objects.select_for_update().get(pk=picture.pk)
    if stored.removed_at is not None:
        raise SessionError("This photograph was taken out of the session.")
    return stored


def _scale(picture: SessionPicture, *numbers: int) -> Calibration:
    try:
        scale = Calibration(*numbers)
        scale.check_picture(picture.width, picture.height)
    except CalibrationError as error:
        raise SessionError(str(error)) from error
    return scale


def _columns(photograph: CleanPicture) -> dict:
    return {
        "width": photograph.width,
        "height": photograph.height,
        "digest": hashlib.sha256(photograph.data).hexdigest(),
    }
