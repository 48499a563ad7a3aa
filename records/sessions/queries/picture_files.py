"""Photographs compared with the files in `var/pictures`."""

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta

from django.utils import timezone

from records.sessions.models import SessionPicture
from records.sessions.storage import private_pictures

# Far longer than a photograph takes from its file to its row.
SETTLED = timedelta(days=1)


@dataclass(frozen=True)
class PictureCheck:
    """One photograph as compared. `fault` is one sentence about its file, empty when it fits."""

    picture: SessionPicture
    fault: str


def picture_checks() -> Iterator[PictureCheck]:
    """Every photograph that was not taken out, the oldest first."""
    pictures = SessionPicture.objects.standing().select_related("session__patient").order_by("id")
    for picture in pictures.iterator(chunk_size=500):
        yield PictureCheck(picture, _fault(picture))


def _fault(picture: SessionPicture) -> str:
    try:
        with picture.file.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
    except FileNotFoundError:
        return "its file is missing"
    return "" if digest == picture.digest else "its file is not the one that was stored"


def loose_files() -> list[str]:
    """
    Names of files that belong to no photograph. A server that dies between a file and its row
    leaves one, and so does one that dies between taking a photograph out and deleting its file.

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
    return sorted(set(old) - known)
