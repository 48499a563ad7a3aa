"""
One search for what a caller says: patients, appointments, for clinical staff lots, and for the
owner staff and pages.

Every read stops when its list is full; none grows with the number of patients.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta

from django.db.models import Exists, OuterRef, Q, QuerySet
from django.utils import timezone

from clinic.access.navigation import pages_of_owner
from clinic.database.fields import prefix_range
from clinic.policy.queries import current_policy
from clinic.staff.models import User
from clinic.stock.enums import StockFilter
from clinic.stock.models import Lot, UnitOfStock
from clinic.stock.queries import LotRow, expiry_days, lot_rows, lots_shown
from planning.names import query_words
from planning.scan import read_scan
from planning.spoken import Heard, hear
from records.appointments.models import Appointment, AppointmentQuerySet, start_of
from records.patients.models import Patient, PatientWord
from records.patients.queries import Matches, find_patients

AT_A_GLANCE, ON_THE_PAGE = 5, 50
SHORTEST_CODE = 3
SHORTEST_NAME = 2
# Said with a day or a person, and part of no name.
_FILLING = frozenset({"with", "and", "appointment", "visit"})


@dataclass(frozen=True, slots=True)
class Missed:
    """A day and time that was asked for and has no visit, of those who were named with it."""

    day: date
    at: time | None
    names: str

    @property
    def words(self) -> str:
        whose = f" of “{self.names}”" if self.names else ""
        when = f" at {self.at:%H:%M}" if self.at else ""
        year = f" {self.day.year}" if self.day.year != timezone.localdate().year else ""
        return f"No visit{whose} on {self.day:%A} {self.day.day} {self.day:%B}{year}{when}"

    @property
    def is_over(self) -> bool:
        return self.day < timezone.localdate()


@dataclass(frozen=True, slots=True)
class Visits:
    """
    `total` counts those that are not among `rows` too; `days`: which days were meant, if any;
    `missed`: the day and time that was asked for in vain, if it is no date of birth.
    """

    rows: list[Appointment]
    total: int
    days: tuple[date, ...] = ()
    missed: Missed | None = None

    @property
    def more(self) -> bool:
        return self.total > len(self.rows)


@dataclass(frozen=True, slots=True)
class Lots:
    """`units` are named by their own number; `total` counts lots not among `rows` too."""

    rows: list[LotRow]
    total: int
    units: list[UnitOfStock]

    @property
    def more(self) -> bool:
        return self.total > len(self.rows)


@dataclass(frozen=True, slots=True)
class Practice:
    """People of the clinic, and pages by their label and the name of their address."""

    staff: list[User]
    pages: list[tuple[str, str]]
    more: bool


@dataclass(frozen=True, slots=True)
class Found:
    """What was found; `lots` is None for whoever sees no stock, `practice` if not the owner."""

    patients: Matches
    visits: Visits
    lots: Lots | None
    practice: Practice | None

    @property
    def count(self) -> int:
        """How many are shown."""
        shown = len(self.patients.patients) + len(self.visits.rows)
        shown += len(self.lots.rows) + len(self.lots.units) if self.lots else 0
        return shown + (len(self.practice.staff) + len(self.practice.pages) if self.practice else 0)

    @property
    def more(self) -> bool:
        parts = (self.patients, self.visits, self.lots, self.practice)
        return any(part.more for part in parts if part)


def find(typed: str, *, limit: int, sees_stock: bool, is_owner: bool = False) -> Found:
    """What `typed` may mean, at most `limit` of each kind."""
    heard = hear(typed, timezone.localdate())
    patients = find_patients(typed, limit)
    return Found(
        patients=patients,
        visits=find_visits(heard, patients, limit),
        lots=find_lots(typed, limit) if sees_stock else None,
        practice=find_practice(typed, limit) if is_owner else None,
    )


def find_visits(heard: Heard, patients: Matches, limit: int) -> Visits:
    """
    Appointments on the days and times that were said, of the people who were named with them; where
    there are none, what the patients who were found have before them.
    """
    today, missed = timezone.localdate(), None
    if heard.days or heard.times:
        days = heard.days or (today,)
        names = [word for word in query_words(heard.rest) if word not in _FILLING]
        asked = _starting(days, heard.times).filter(_of_people(names, patients))
        if (visits := _first(asked, limit, days)).rows:
            return visits
        if days[0] not in heard.born:
            missed = Missed(days[0], next(iter(heard.times), None), " ".join(names))
    to_come = Appointment.objects.taking_place().filter(starts_at__gte=start_of(today))
    following = _first(to_come.filter(patient__in=patients.patients), limit)
    return replace(following, missed=missed)


def _first(rows: AppointmentQuerySet, limit: int, days: tuple[date, ...] = ()) -> Visits:
    found = list(rows.with_people().order_by("starts_at", "id")[: limit + 1])
    total = rows.count() if len(found) > limit else len(found)
    return Visits(found[:limit], total, days)


def _starting(days: Iterable[date], times: Iterable[time]) -> AppointmentQuerySet:
    """Those that start on one of the days, at one of the times if any was said."""
    zone = timezone.get_current_timezone()
    moments = [datetime.combine(day, at, tzinfo=zone) for day in days for at in times]
    if moments:
        return Appointment.objects.filter(starts_at__in=moments)
    on_a_day = Q()
    for day in days:
        on_a_day |= Q(starts_at__gte=start_of(day), starts_at__lt=start_of(day + timedelta(days=1)))
    return Appointment.objects.filter(on_a_day)


def _of_people(names: list[str], patients: Matches) -> Q:
    """
    Every name is one of the patient or of the practitioner; a patient whose name was misspelt
    counts too.
    """
    if not names:
        return Q()
    staff = list(User.objects.filter(is_injector=True).values_list("pk", "full_name"))
    everybody = Q()
    for name in names:
        same = PatientWord.objects.filter(
            prefix_range("word", name[:100]), patient=OuterRef("patient")
        )
        with_them = [
            pk for pk, full_name in staff if f" {name}" in f" {' '.join(query_words(full_name))}"
        ]
        everybody &= Q(Exists(same)) | Q(practitioner__in=with_them)
    near: list[Patient] = patients.patients if patients.near else []
    return everybody | Q(patient__in=near)


def find_lots(typed: str, limit: int) -> Lots:
    """
    Lots by the code on a box, by a part of their number, or by words of product and maker; units by
    their own number or serial number.
    """
    text = typed.strip()
    if len(text) < SHORTEST_CODE:
        return Lots([], 0, [])
    today = timezone.localdate()
    lots = _lots_named(text, today)
    newest_first = lots.order_by("-expires_on", "-id")
    found = list(newest_first[: limit + 1])
    total = lots.count() if len(found) > limit else len(found)
    days = expiry_days(current_policy(), today)
    units = UnitOfStock.objects.with_lot().filter(Q(label=text.upper()) | Q(serial=text))
    return Lots(lot_rows(found[:limit], days), total, list(units.order_by("-id")[:limit]))


def _lots_named(text: str, today: date) -> QuerySet[Lot]:
    scan = read_scan(text, today=today)
    if scan.gtin:
        lots = Lot.objects.select_related("product").filter(product__gtin=scan.gtin)
        return lots.filter(number=scan.lot) if scan.lot else lots
    return lots_shown(text, StockFilter.ALL, expiry_days(current_policy(), today))


def find_practice(typed: str, limit: int) -> Practice:
    """Staff and the owner's pages of which every word that was typed begins a word of the name."""
    said = query_words(typed)
    if len(typed.strip()) < SHORTEST_NAME or not said:
        return Practice([], [], more=False)

    def is_named(name: str) -> bool:
        return all(f" {word}" in f" {' '.join(query_words(name))}" for word in said)

    staff = [person for person in User.objects.all() if is_named(str(person))]
    pages = [page for page in pages_of_owner() if is_named(page[0])]
    return Practice(staff[:limit], pages[:limit], more=max(len(staff), len(pages)) > limit)
