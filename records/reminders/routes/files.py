"""Messages as files, for the demo and for trying out: one a reference, whole or not there."""

import os
import tempfile
from pathlib import Path

from django.conf import settings

from records.reminders.errors import NotNow


def write_once(file: Path, content: bytes) -> None:
    """
    Write the file whole, and only if it is not there: what was written once stays.

    Raises:
        NotNow: the disk does not take it.
    """
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        descriptor, name = tempfile.mkstemp(dir=file.parent, prefix=".")
        try:
            with os.fdopen(descriptor, "wb") as handle:
                handle.write(content)
                handle.flush()
                os.fsync(handle.fileno())
            if not file.exists():
                os.replace(name, file)
                _keep_name(file.parent)
        finally:
            Path(name).unlink(missing_ok=True)
    except OSError as error:
        raise NotNow(f"The file could not be written: {error.strerror}.") from error


def _keep_name(folder: Path) -> None:
    """The name of a new file must outlive a power cut as well."""
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


class TextMessageFiles:
    """CLINIC_SMS=file: each text message as a file in var/text_messages."""

    @staticmethod
    def _file(reference: str) -> Path:
        return Path(settings.VAR_DIR) / "text_messages" / f"{reference}.txt"

    def send(self, *, to: str, text: str, reference: str) -> None:
        write_once(self._file(reference), f"To: {to}\n\n{text}\n".encode())

    def was_sent(self, reference: str) -> bool | None:
        return self._file(reference).exists()
