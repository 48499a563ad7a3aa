"""All files of letters of a mailing as one zip, streamed: one file is in memory at a time."""

from collections.abc import Iterator
from zipfile import ZIP_STORED, ZipFile, ZipInfo

from django.utils import timezone

from records.mailings.models import LetterBatch, Mailing

_AT_ONCE = 64 * 1024


class _Outlet:
    """A file that only goes forward; `take` hands out what was written since."""

    def __init__(self) -> None:
        self._parts: list[bytes] = []

    def write(self, data: bytes, /) -> int:
        self._parts.append(bytes(data))
        return len(data)

    def flush(self) -> None:
        """Nothing is held back."""

    def close(self) -> None:
        """Nothing is to be given back."""

    def take(self) -> bytes:
        taken, self._parts = b"".join(self._parts), []
        return taken


def file_name(batch: LetterBatch) -> str:
    """Sorted by name, the files are in the order of the letters; no patient is named."""
    return f"letters-{batch.mailing_id}-{batch.number:03d}.pdf"


def zipped(mailing: Mailing) -> Iterator[bytes]:
    """
    The zip piece by piece. PDF does not shrink, so nothing is compressed; times are those of the
    writing, so the same files give the same bytes.
    """
    outlet = _Outlet()
    with ZipFile(outlet, "w", ZIP_STORED) as archive:
        for pk in mailing.batches.order_by("number").values_list("pk", flat=True):
            batch = LetterBatch.objects.get(pk=pk)
            pdf = memoryview(bytes(batch.pdf))
            written = timezone.localtime(batch.written_at)
            entry = ZipInfo(file_name(batch), written.timetuple()[:6])
            entry.file_size = len(pdf)
            with archive.open(entry, "w") as inside:
                for start in range(0, len(pdf), _AT_ONCE):
                    inside.write(pdf[start : start + _AT_ONCE])
                    yield outlet.take()
    yield outlet.take()
