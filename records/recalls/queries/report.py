"""Everything the report of a case says, gathered for its template."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime

from django.db.models import Count, Sum

from clinic.policy.models import ClinicPolicy
from clinic.policy.queries import current_policy
from clinic.stock.models import Lot
from planning.names import fold
from planning.recall_clock import Lap
from planning.vocabulary import Measure, ProductKind
from records.adverse_events.models import AdverseEvent
from records.mailings.models import Mailing
from records.mailings.queries import Progress as MailingProgress
from records.recalls.models import (
    CaseCheck,
    CaseContact,
    CasePatient,
    CaseSpan,
    NoticeFile,
    RecallCase,
)
from records.recalls.queries.checks import CheckStanding, check_standing, checks_of, seed_of
from records.recalls.queries.extent import Extent, extent_of
from records.recalls.queries.mailings import mailings_of
from records.recalls.queries.progress import Progress, Status, laps_of, progress_of, status_of
from records.recalls.queries.units import PullRow, pull_rows

PEOPLE_PRINTED, UNITS_PRINTED = 2_500, 1_000
"""
What a server prints in about half a minute and half a gigabyte; of more, the report says how many
and where the whole list is.
"""
CHUNK = 500


@dataclass(frozen=True, slots=True)
class NamedRow:
    """What the notice names, which lots of it were here, and which of those are only held."""

    span: CaseSpan
    lots: list[Lot]
    unclear: list[str]


@dataclass(frozen=True, slots=True)
class GivenRow:
    """What one patient got of one lot in one session; `amount` in base units."""

    at: datetime
    product: str
    lot: str
    points: int
    amount: int
    measure: Measure


@dataclass(slots=True)
class PersonRow:
    """One patient: what they got, how they were told, and what they said."""

    person: CasePatient
    given: list[GivenRow] = field(default_factory=list)
    contacts: list[CaseContact] = field(default_factory=list)


@dataclass(frozen=True)
class ReportContent:
    """What the report shows, in reading order."""

    policy: ClinicPolicy
    case: RecallCase
    named: list[NamedRow]
    files: list[NoticeFile]
    laps: list[Lap]
    progress: Progress
    status: Status
    units: list[PullRow]
    hidden_units: int
    people: list[PersonRow]
    hidden_people: int
    mailings: list[tuple[Mailing, MailingProgress]]
    events: list[AdverseEvent]
    check: CheckStanding
    checks: list[CaseCheck]
    seed: str


def report_content(case: RecallCase) -> ReportContent:
    """The case as it stands: the same case gives the same content, whatever the clock says."""
    extent, progress = extent_of(case), progress_of(case)
    ids = _by_name(case)
    rows = list(_person_rows(extent, ids[:PEOPLE_PRINTED]))
    units = pull_rows(case)
    return ReportContent(
        policy=current_policy(),
        case=case,
        named=_named(extent),
        files=list(case.files.defer("content").select_related("added_by")),
        # Watches that still run are printed without a time.
        laps=laps_of(case, progress, case.closed_at or case.opened_at),
        progress=progress,
        status=status_of(case, extent, progress),
        units=units[:UNITS_PRINTED],
        hidden_units=max(0, len(units) - UNITS_PRINTED),
        people=rows,
        hidden_people=len(ids) - len(rows),
        mailings=list(reversed(mailings_of(case))),
        events=list(
            AdverseEvent.objects.filter(recalls__case=case)
            .select_related("patient", "lot__product")
            .order_by("onset_on", "pk")
        ),
        check=check_standing(case),
        checks=list(checks_of(case)),
        seed=seed_of(case),
    )


def _named(extent: Extent) -> list[NamedRow]:
    lots = Lot.objects.in_bulk(extent.lot_ids)
    return [
        NamedRow(
            reach.span,
            lots=[lots[lot.pk] for lot in reach.lots],
            unclear=[lot.number for lot in reach.unclear],
        )
        for reach in extent.spans
    ]


def _by_name(case: RecallCase) -> list[int]:
    """Not sorted by the database: the two order names differently."""
    rows = case.people.order_by("pk").values_list("pk", "patient__full_name")
    return [pk for pk, _ in sorted(rows, key=lambda row: (fold(row[1]), row[0]))]


def _person_rows(extent: Extent, ids: list[int]) -> Iterator[PersonRow]:
    """In the order of `ids`; three queries for each few hundred."""
    for first in range(0, len(ids), CHUNK):
        part = ids[first : first + CHUNK]
        people = CasePatient.objects.select_related("patient", "appointment").in_bulk(part)
        rows = {person.patient_id: PersonRow(person) for person in people.values()}
        for patient, *given in _given(extent, rows):
            rows[patient].given.append(GivenRow(*given))
        contacts = CaseContact.objects.filter(person__in=part).select_related("by")
        for contact in contacts.order_by("at", "pk"):
            rows[people[contact.person_id].patient_id].contacts.append(contact)
        yield from (rows[people[pk].patient_id] for pk in part)


def _given(extent: Extent, patients: Iterable[int]) -> Iterator[tuple]:
    """The patient's id, then the fields of GivenRow, oldest session first."""
    grouped = (
        extent.points()
        .filter(session__patient__in=list(patients))
        .order_by("session__started_at", "session_id", "unit__lot__number", "unit__lot_id")
        .values_list(
            "session__patient_id", "session__started_at", "unit__lot__product__name",
            "unit__lot__number", "unit__lot__product__kind", "session_id", "unit__lot_id",
        )
        .annotate(points=Count("pk"), given=Sum("amount"))
    )  # fmt: skip
    for patient, at, product, lot, kind, _, _, points, amount in grouped:
        yield patient, at, product, lot, points, amount, ProductKind(kind).measure
    for dose in extent.doses:
        patient = dose.occlusion.session.patient_id
        if patient in patients:
            of, amount = extent.product_of(dose), dose.dose_centiunits
            yield patient, dose.at, of.name, dose.lot_number, 0, amount, of.measure
