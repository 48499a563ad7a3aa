"""
The call list: everybody affected, how to reach them, what they were given, how far they have got.

A part of the list takes three queries, however long it is. It stands by name, which Python sorts:
the two databases order names differently.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import cached_property
from typing import NamedTuple

from django.db.models import Count, Max, Q, QuerySet, Sum

from clinic.products.models import Product
from planning.names import fold
from records.patients.enums import Channel
from records.recalls.enums import ContactOutcome, Reach
from records.recalls.models import CaseContact, CasePatient, RecallCase
from records.recalls.queries.extent import Extent

CHUNK = 500
REACHING = [outcome.value for outcome in ContactOutcome if outcome.has_reached]


@dataclass(slots=True)
class Given:
    """What one patient got of a case; amounts in base units, never added across products."""

    points: int = 0
    sessions: set[int] = field(default_factory=set)
    last_at: datetime | None = None
    amounts: dict[int, int] = field(default_factory=dict)

    def add(self, session: int, at: datetime, product: int, points: int, amount: int) -> None:
        self.points += points
        self.sessions.add(session)
        self.last_at = max(self.last_at or at, at)
        self.amounts[product] = self.amounts.get(product, 0) + amount


class Tried(NamedTuple):
    """The attempts to reach one person."""

    attempts: int = 0
    last_at: datetime | None = None
    is_reached: bool = False

    @property
    def reach(self) -> Reach:
        if self.is_reached:
            return Reach.REACHED
        return Reach.TRIED if self.attempts else Reach.TO_CONTACT


class Contact(NamedTuple):
    """Who somebody is, and every way to reach them."""

    pk: int
    patient_id: int
    record_number: str
    name: str
    birth_date: date
    phone: str
    email: str
    address: str
    preferred_channel: str
    unreachable_note: str
    added_at: datetime
    booked_at: datetime | None

    @property
    def channel(self) -> Channel:
        return Channel(self.preferred_channel)

    @property
    def has_no_way(self) -> bool:
        return not (self.phone or self.email or self.address)


_CONTACT = (
    "pk", "patient_id", "patient__record_number", "patient__full_name", "patient__birth_date",
    "patient__phone", "patient__email", "patient__address", "patient__preferred_channel",
    "unreachable_note", "added_at", "appointment__starts_at",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class CallRow:
    """One line of the list; `amounts`: what they were given, product by product."""

    contact: Contact
    tried: Tried
    points: int
    sessions: int
    last_at: datetime | None
    amounts: tuple[tuple[Product, int], ...]


@dataclass(frozen=True)
class CallList:
    """
    The people of a case, by name, as a sequence of `CallRow`.

    Attributes:
        reach: only those who have got so far.
        channel: only those who prefer to be reached so.
        found_after: only those found later than this moment.
    """

    case: RecallCase
    extent: Extent
    reach: Reach | None = None
    channel: Channel | None = None
    found_after: datetime | None = None

    def people(self) -> QuerySet[CasePatient]:
        people = CasePatient.objects.filter(case=self.case)
        if self.reach is not None:
            people = people.standing(self.reach)
        if self.channel is not None:
            people = people.filter(patient__preferred_channel=self.channel)
        if self.found_after is not None:
            people = people.filter(added_at__gt=self.found_after)
        return people

    @cached_property
    def ids(self) -> list[int]:
        rows = self.people().order_by("pk").values_list("pk", "patient__full_name")
        return [pk for pk, _ in sorted(rows, key=lambda row: (fold(row[1]), row[0]))]

    def __len__(self) -> int:
        return len(self.ids)

    def __getitem__(self, part: slice) -> list[CallRow]:
        return call_rows(self.extent, self.ids[part])

    def __iter__(self) -> Iterator[CallRow]:
        """
        All of it, people a part at a time. The sums are held for everybody: taken part by part,
        each would walk through all points of the case again.
        """
        given = given_by_patient(self.extent)
        for first in range(0, len(self.ids), CHUNK):
            yield from call_rows(self.extent, self.ids[first : first + CHUNK], given)


def call_rows(
    extent: Extent, ids: Sequence[int], given: dict[int, Given] | None = None
) -> list[CallRow]:
    """
    The lines of these people, in the order of `ids`.

    Args:
        given: what everybody got, if that is known.
    """
    rows = CasePatient.objects.filter(pk__in=ids).order_by().values_list(*_CONTACT)
    contacts = {row[0]: Contact(*row) for row in rows}
    tried = tried_by_person(ids)
    if given is None:
        given = given_by_patient(extent, [contact.patient_id for contact in contacts.values()])
    products = {reach.span.product_id: reach.span.product for reach in extent.spans}
    return [
        _call_row(contacts[pk], tried.get(pk, Tried()), given, products)
        for pk in ids
        if pk in contacts
    ]


def _call_row(
    contact: Contact, tried: Tried, given: dict[int, Given], products: dict[int, Product]
) -> CallRow:
    got = given.get(contact.patient_id) or Given()
    amounts = tuple((products[key], amount) for key, amount in sorted(got.amounts.items()))
    return CallRow(contact, tried, got.points, len(got.sessions), got.last_at, amounts)


def tried_by_person(ids: Iterable[int]) -> dict[int, Tried]:
    """The attempts by person; who was never tried is missing."""
    rows = (
        CaseContact.objects.filter(person__in=ids)
        .order_by()
        .values_list("person_id")
        .annotate(
            attempts=Count("pk"),
            last_at=Max("at"),
            reached=Count("pk", filter=Q(outcome__in=REACHING)),
        )
    )
    return {pk: Tried(attempts, last, bool(reached)) for pk, attempts, last, reached in rows}


def given_by_patient(extent: Extent, patients: Sequence[int] | None = None) -> dict[int, Given]:
    """
    What each of the patients, or everybody, got of the case, from one grouped query; with what was
    given in occlusion logs, which are no points.
    """
    points = extent.points()
    if patients is not None:
        points = points.filter(session__patient__in=patients)
    rows = (
        points.order_by()
        .values_list(
            "session__patient_id", "session_id", "session__started_at", "unit__lot__product_id"
        )
        .annotate(points=Count("pk"), given=Sum("amount"))
    )
    given: dict[int, Given] = {}
    for patient, *what in rows:
        given.setdefault(patient, Given()).add(*what)
    for dose in extent.doses:
        session = dose.occlusion.session
        if patients is None or session.patient_id in patients:
            got = given.setdefault(session.patient_id, Given())
            product = extent.product_of(dose).pk
            got.add(session.pk, dose.at, product, 0, dose.dose_centiunits or 0)
    return given


def missing_patients(case: RecallCase, extent: Extent) -> list[int]:
    """
    Ids of the patients who got something of the case and are not on its list.

    Two short answers are compared here: as one statement it depends on the planner's statistics
    whether the list is asked once or for every point.
    """
    listed = set(CasePatient.objects.filter(case=case).values_list("patient_id", flat=True))
    got = extent.points().order_by().values_list("session__patient_id", flat=True).distinct()
    in_logs = {dose.occlusion.session.patient_id for dose in extent.doses}
    return sorted((in_logs | set(got)) - listed)


def to_contact_after(person: CasePatient) -> CasePatient | None:
    """Who is to be called next: nobody has tried them yet, else nobody has reached them."""
    others = CasePatient.objects.filter(case=person.case_id).exclude(pk=person.pk)
    for reach in (Reach.TO_CONTACT, Reach.TRIED):
        waiting = others.standing(reach).order_by("pk")
        if found := waiting.filter(pk__gt=person.pk).first() or waiting.first():
            return found
    return None
