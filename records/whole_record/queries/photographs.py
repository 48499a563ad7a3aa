"""The patient's photographs: small, with what each shows and what it may be used for."""

from collections.abc import Callable
from dataclasses import dataclass

from django.utils import timezone

from clinic.pictures.cleaning import smaller_picture
from clinic.pictures.storage import private_pictures
from records.patients.models import Patient
from records.photographs.models import Photograph, PhotographUse
from records.sessions.models import SessionPicture
from records.whole_record.queries.tables import Chapter, Table, by, day, lines, moment

THUMBNAIL_PX = 480
"""The long side: 300 dots an inch at 41 mm on paper."""


@dataclass(frozen=True)
class Tile:
    """One picture; the printer asks for it by its `name`, which is "" where the file is gone."""

    name: str
    title: str
    taken: str
    told: str


class Album:
    """The pictures of a record: their bytes are read when a page needs them, one at a time."""

    def __init__(self, patient: Patient) -> None:
        self._read: dict[str, Callable[[], bytes]] = {}
        self.tiles = [*self._photographs(patient), *self._session_pictures(patient)]

    def picture(self, name: str) -> bytes:
        """
        The JPEG of a tile's name.

        Raises:
            KeyError: no tile has this name.
        """
        return self._read[name]()

    def _photographs(self, patient: Patient) -> list[Tile]:
        found = patient.photographs.standing().select_related("added_by")
        tiles = []
        for row in found.prefetch_related("uses").order_by("taken_at", "id"):
            stored = row.thumbnail.name or row.file.name
            name = self._keep(f"photograph-{row.pk}", stored, is_small=bool(row.thumbnail))
            told = lines(*map(_use, row.uses.all()), f"{row.get_source_display()}: {row.added_by}")
            tiles.append(Tile(name, row.shot.label, moment(row.taken_at), told))
        return tiles

    def _session_pictures(self, patient: Patient) -> list[Tile]:
        """Those that points are put on; with their points they stand in the treatments."""
        found = SessionPicture.objects.standing().filter(session__patient=patient)
        tiles = []
        for row in found.select_related("added_by").order_by("taken_at", "id"):
            name = self._keep(f"session-picture-{row.pk}", row.file.name, is_small=False)
            told = f"For points of the treatment: {row.added_by}"
            tiles.append(Tile(name, "Photograph for points", moment(row.taken_at), told))
        return tiles

    def _keep(self, name: str, stored: str, *, is_small: bool) -> str:
        if not private_pictures().exists(stored):
            return ""
        self._read[name] = lambda: _small(stored, is_small=is_small)
        return name


def _small(stored: str, *, is_small: bool) -> bytes:
    with private_pictures().open(stored) as file:
        kept = file.read()
    return kept if is_small else smaller_picture(kept, long_side=THUMBNAIL_PX).data


def _use(use: PhotographUse) -> str:
    """ "Teaching since 3 May 2026, until 3 May 2028"; what was taken back says so."""
    since = f"{use.get_use_display()} since {day(use.given_on)}"
    if use.withdrawn_at is not None:
        return f"{since}, withdrawn {day(timezone.localdate(use.withdrawn_at))}"
    return f"{since}, until {day(use.until_on)}" if use.until_on else since


def photographs(patient: Patient, album: Album) -> Chapter:
    removed = patient.photographs.filter(removed_at__isnull=False).select_related("removed_by")
    rows = [_removed(row) for row in removed.order_by("removed_at", "id")]
    columns = ("Photograph", "Taken", "Taken out", "Why")
    return Chapter(
        "photographs",
        "Photographs",
        [Table(columns, rows, "Taken out of the record")],
        template="print/_record_photographs.html" if album.tiles else "",
    )


def _removed(row: Photograph) -> tuple[str, ...]:
    return (
        row.shot.label, moment(row.taken_at), by(row.removed_at, row.removed_by),
        row.removed_reason,
    )  # fmt: skip
