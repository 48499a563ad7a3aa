"""
Where patients' photographs lie: files in `var/pictures`, never below a public address.

A name is random and says nothing about whom it shows. The database holds the name; a view that
checks who asks reads the file.
"""

import os
import secrets
from pathlib import Path

from django.conf import settings
from django.core.files.base import File
from django.core.files.storage import FileSystemStorage


class PrivatePictures(FileSystemStorage):
    """Files that only the tool itself reads, under names of its own, on the disk for good."""

    def __init__(self) -> None:
        super().__init__(file_permissions_mode=0o600, directory_permissions_mode=0o700)

    @property
    def base_location(self) -> str:
        """Asked for each time, because tests keep their pictures elsewhere."""
        return str(Path(settings.VAR_DIR) / "pictures")

    @property
    def location(self) -> str:
        return os.path.abspath(self.base_location)

    def get_available_name(self, name: str, max_length: int | None = None) -> str:
        """A new name, whatever the picture was called."""
        return f"{secrets.token_hex(16)}.jpg"

    def url(self, name: str | None) -> str:
        raise ValueError("A patient's photograph has no public address.")

    def _save(self, name: str, content: File) -> str:
        """The bytes, and their entry in the folder, survive a power cut after this."""
        name = super()._save(name, content)  # type: ignore[misc]
        _sync(self.path(name))
        _sync(self.location)
        return name


def private_pictures() -> PrivatePictures:
    return PrivatePictures()


def _sync(path: str) -> None:
    descriptor = os.open(path, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
