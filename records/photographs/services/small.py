"""The smaller pictures of a photograph: for lists, and to look at on a screen."""

from django.core.files.base import ContentFile
from django.db import transaction

from clinic.pictures.cleaning import smaller_picture
from clinic.pictures.storage import private_pictures
from records.photographs.models import Photograph

# Pixels of the long side: a tile on a sharp screen, and a tablet's whole one.
LONG_SIDES = {"thumbnail": 480, "preview": 1600}


def make_small(photograph: Photograph) -> None:
    """
    Make and store both smaller pictures, once: of two that work at the same time one wins.

    Raises:
        FileNotFoundError: the photograph's file is gone.
    """
    kept = picture_bytes(photograph, "file")
    names = {
        which: private_pictures().save(
            which, ContentFile(smaller_picture(kept, long_side=long_side).data)
        )
        for which, long_side in LONG_SIDES.items()
    }
    stored = 0
    try:
        with transaction.atomic():
            due = Photograph.objects.without_thumbnail().filter(pk=photograph.pk)
            stored = due.update(**names)
    finally:
        if not stored:
            for name in names.values():
                private_pictures().delete(name)


def picture_bytes(photograph: Photograph, which: str) -> bytes:
    """
    A kept JPEG: "file", "preview" or "thumbnail".

    Raises:
        FileNotFoundError: the file is gone, as after a restore of the database alone.
    """
    with private_pictures().open(str(getattr(photograph, which).name)) as file:
        return file.read()


def small_bytes(photograph: Photograph, which: str) -> tuple[bytes, bool]:
    """
    A smaller picture, and whether it is the stored one: as long as the worker has not made it, it
    is made on the spot and not kept.

    Raises:
        FileNotFoundError: there is no file to make it of.
    """
    if getattr(photograph, which):
        return picture_bytes(photograph, which), True
    kept = picture_bytes(photograph, "file")
    return smaller_picture(kept, long_side=LONG_SIDES[which]).data, False
