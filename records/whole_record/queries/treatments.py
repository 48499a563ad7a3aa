"""Every treatment with its charts, points, units and signature, as the chart notes have them."""

from collections.abc import Iterator
from dataclasses import replace

from clinic.templatetags.amounts import amount
from planning.atlas.regions import Region
from records.notes.queries import NoteContent, note_content
from records.patients.models import Patient
from records.sessions.models import InjectionEntry, TreatmentSession
from records.whole_record.queries.tables import Chapter, Row, Table, by, day, lines, listed, moment

PICTURE_PX = 900
"""The long side of a photograph under points: 200 dots an inch at its largest on paper."""


class Treatments:
    """
    The patient's treatments, the first one first.

    What a note says is gathered when the page comes to it and let go after it: forty of them with
    all points at once would need more memory than the pages made of them.
    """

    def __init__(self, patient: Patient) -> None:
        sessions = patient.sessions.standing().select_related("patient", "injector", "signed_by")
        self.sessions = list(sessions.order_by("started_at", "id"))

    def __iter__(self) -> Iterator[NoteContent]:
        for session in self.sessions:
            # Cautions are the face atlas's, which is no part of a patient's record.
            yield replace(note_content(session, picture_px=PICTURE_PX), cautions=[])


def overview(treatments: Treatments) -> Chapter:
    """What was given when, by whom and of which lots."""
    given = _given(treatments.sessions)
    rows = [
        (
            moment(session.started_at),
            lines(session.injector, session.injector.registration_number),
            lines(*given.get(session.pk, ["nothing was injected"])),
            lines(
                f"signed {moment(session.signed_at)}" if session.is_signed else "not signed",
                session.signed_digest,
            ),
        )
        for session in treatments.sessions
    ]
    columns = ("Treated", "By", "Product, lot, expiry, points", "Signature, SHA-256")
    entries = [
        (f"treatment-{session.pk}", f"Treatment of {moment(session.started_at)}")
        for session in treatments.sessions
    ]
    return Chapter(
        "treatments",
        "Treatments",
        [Table(columns, rows), _removed(treatments.sessions)],
        entries=entries,
    )


def _removed(sessions: list[TreatmentSession]) -> Table:
    """Points that were logged and taken back: they stay on record."""
    points = InjectionEntry.objects.filter(session__in=sessions, removed_at__isnull=False)
    rows = [
        (
            f"Point {point.number}",
            moment(point.session.started_at),
            f"{Region(point.region).label}, {point.get_side_display().lower()}",
            f"{point.unit.lot.product.name}, lot {point.unit.lot.number}",
            amount(point.amount, point.measure),
            by(point.removed_at, point.changed_by),
        )
        for point in points.select_related("session", "unit__lot__product", "changed_by").order_by(
            "session__started_at", "number"
        )
    ]
    columns = ("Point", "Treated", "Where", "Product, lot", "Amount", "Taken back")
    return Table(columns, rows, "Points taken back")


def _given(sessions: list[TreatmentSession]) -> dict[int, list[str]]:
    points = InjectionEntry.objects.standing().filter(session__in=sessions)
    found: dict[int, dict[Row, list[int]]] = {}
    for point in points.select_related("unit__lot__product").order_by("session_id", "number"):
        lot = point.unit.lot
        key = (lot.product.name, f"lot {lot.number}", f"expiry {day(lot.expires_on)}")
        found.setdefault(point.session_id, {}).setdefault(key, []).append(point.number)
    return {
        session: [f"{', '.join(key)}: {listed(numbers)}" for key, numbers in given.items()]
        for session, given in found.items()
    }
