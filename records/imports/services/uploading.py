"""Taking a file up: its letters, its separator, its rows into a table; not read by columns yet."""

import hashlib
from collections.abc import Iterable, Iterator
from io import TextIOWrapper
from itertools import islice

from django.core.files.base import File
from django.db import IntegrityError
from django.utils import timezone

from clinic.audit.services import acting, snapshot
from planning.csv_text import CsvError, Row
from planning.imports.columns import Kind, guessed_columns
from planning.imports.reading import Letters, letters_of, rows_of_file, sample_of, separator_of
from records.imports.enums import State
from records.imports.errors import ImportRefused
from records.imports.models import Import, ImportRow

MOST_ROWS, MOST_COLUMNS = 200_000, 200
AT_ONCE = 1_000
UPLOADED_FIELDS = ["kind", "file_name", "digest", "letters", "separator", "row_count"]


def take_up(*, file: File, kind: Kind, letters: Letters | None, actor) -> Import:
    """
    Store the rows of a file, piece by piece, as one act.

    Args:
        letters: how they are written, if a person said so.

    Raises:
        ImportRefused: no CSV file, too large, or taken in before.
    """
    digest = hashlib.sha256()
    for piece in file.chunks():
        digest.update(piece)
    _refuse_known(digest.hexdigest(), kind)
    try:
        letters = letters or letters_of(file.chunks())
        separator = separator_of(sample_of(_lines(file, letters)))
        rows = rows_of_file(_lines(file, letters), separator)
        headings = _headings(next(rows, None))
        with acting(actor) as trail:
            taken = Import.objects.create(
                kind=kind, file_name=(file.name or "file")[:200], digest=digest.hexdigest(),
                letters=letters, separator=separator, headings=headings,
                mapping=guessed_columns(kind, headings), uploaded_at=timezone.now(),
                uploaded_by=actor,
            )  # fmt: skip
            taken.row_count = _store(taken, rows)
            taken.save(update_fields=["row_count"])
            trail.add("import.uploaded", taken, after=snapshot(taken, UPLOADED_FIELDS))
    except CsvError as error:
        raise ImportRefused(str(error)) from error
    except IntegrityError as error:
        raise ImportRefused("This very file was uploaded a moment ago.") from error
    except UnicodeError as error:
        raise ImportRefused(
            "The letters of this file are written in another way. Choose another, or save it as "
            "“CSV UTF-8”."
        ) from error
    return taken


def _refuse_known(digest: str, kind: Kind) -> None:
    before = Import.objects.filter(digest=digest, kind=kind).exclude(
        state__in=[State.UNDONE, State.DISCARDED]
    )
    if known := before.first():
        when = timezone.localtime(known.uploaded_at)
        raise ImportRefused(
            f"This very file is here already, uploaded on {when:%-d %B %Y, %H:%M}. Go on with it "
            "in the list, or discard or undo it first."
        )


def _lines(file: File, letters: Letters) -> Iterator[str]:
    """The lines as csv wants them, from the first on; the file stays open."""
    file.seek(0)
    # Universal line ends, untranslated: a line end inside a quoted cell belongs to the cell.
    text = TextIOWrapper(_Unclosed(file), encoding=letters.value, newline="")  # type: ignore[type-var]
    try:
        for line in text:
            if "\0" in line:
                raise CsvError(
                    "This file is not text. Save it as “CSV UTF-8” and choose that file."
                )
            yield line
    finally:
        text.detach()


class _Unclosed:
    """What a text reader needs of an uploaded file, which is read more than once."""

    closed, readable, seekable, writable = False, lambda _: True, lambda _: False, lambda _: False

    def __init__(self, file: File) -> None:
        self._file = file

    def read(self, size: int = -1) -> bytes:
        return self._file.read(size)

    read1 = read

    def flush(self) -> None:
        """Nothing is written."""


def _headings(row: Row | None) -> list[str]:
    if row is None:
        raise ImportRefused("The file is empty.")
    if len(row.cells) > MOST_COLUMNS:
        raise ImportRefused(
            f"A file has at most {MOST_COLUMNS} columns; this has {len(row.cells)}."
        )
    return [heading[:100] for heading in row.cells]


def _store(taken: Import, rows: Iterable[Row]) -> int:
    count = 0
    rows = iter(rows)
    while batch := list(islice(rows, AT_ONCE)):
        count += len(batch)
        if count > MOST_ROWS:
            raise ImportRefused(
                f"A file has at most {MOST_ROWS:,} rows: divide it, and upload each part."
            )
        ImportRow.objects.bulk_create(
            ImportRow(import_of=taken, number=row.number, cells=list(row.cells)) for row in batch
        )
    if not count:
        raise ImportRefused("There is no row below the headings.")
    return count
