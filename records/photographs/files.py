"""Photographs of both kinds compared with the files in `var/pictures`."""

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta

from django.db.models.fields.files import FieldFile
from django.utils import timezone

from clinic.pictures.storage import private_pictures
from records.photographs.models import Photograph
from records.sessions.models import SessionPicture

# Far longer than a photograph takes from its file to its row.
SETTLED = timedelta(days=1)


@dataclass(frozen=True)
class PictureCheck:
    """
    One photograph as compared.

    Attributes:
        name: which one, and whose.
        fault: one sentence about its file, empty when it fits.
    """

    name: str
    fault: str


def picture_checks() -> Iterator[PictureCheck]:
    """Every photograph that has a file: the sessions' first, the oldest first."""
    pictures = SessionPicture.objects.standing().select_related("session__patient").order_by("id")
    for picture in pictures.iterator(chunk_size=500):
        session = picture.session
        name = f"{picture.key} of session {session.pk}, {session.patient.record_number}"
        yield PictureCheck(name, _fault(picture.file, picture.digest))
    photographs = Photograph.objects.select_related("patient").order_by("id")
    for photograph in photographs.iterator(chunk_size=500):
        name = f"{photograph.key} of {photograph.patient.record_number}"
        yield PictureCheck(name, _fault(photograph.file, photograph.digest))


def _fault(file: FieldFile, stored: str) -> str:
    try:
        with file.open("rb") as opened:
            digest = hashlib.file_digest(opened, "sha256").hexdigest()
    except FileNotFoundError:
        return "its file is missing"
    return "" if digest == stored else "its file is not the one that was stored"


def loose_files() -> list[str]:
    """
    Names of files that belong to no photograph. A server that dies between a file and its row
    leaves one, and so does one that dies between taking a session's picture out and deleting its
    file. A patient's photograph keeps its file when it is taken out.

    Younger ones than SETTLED are passed over: their row may still be on its way.
    """
    storage, settled = private_pictures(), timezone.now() - SETTLED
    try:
        _, names = storage.listdir("")
    except FileNotFoundError:
        return []
    old = [name for name in names if storage.get_modified_time(name) < settled]
    # Asked after the folder was read, so that no row of one of those files is overlooked.
    known = set(SessionPicture.objects.standing().values_list("file", flat=True))
    for files in Photograph.objects.values_list("file", "preview", "thumbnail"):
        known.update(files)
    return sorted(set(old) - known)
