"""
The clinic that the load meets: a day like every other, weeks of them behind it and before it.

8 practitioners see 25 patients each from eight to half past six, in rooms of their own; all seven
weekdays are open, so that the run meets the same clinic on each. 50 minutes are free twice a day.
Visits go in through their triggers, which hold their time; what was treated is loaded without.
"""

import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from django.db import connection
from django.utils import timezone

from clinic.hours.models import WEEKDAYS, WorkingTime
from clinic.policy.models import ClinicPolicy
from clinic.rooms.models import Room
from clinic.sites.models import Site
from clinic.staff.models import User
from clinic.stock.models import UnitOfStock
from clinic.visit_kinds.enums import AppointmentKind
from clinic.visit_kinds.models import VisitKind
from planning.names import phone_tail
from records.appointments.enums import AppointmentState
from records.appointments.models import Appointment
from records.patients.models import Alert, Patient, PatientWord
from records.patients.services import name_key, search_words
from tests.bench.morning.told import fill_messages, fill_waiting_list
from tests.bench.morning.treated import fill_treatments
from tests.factories import make_event, make_product, make_session_with_unit, make_units, make_user


@dataclass(frozen=True, slots=True)
class Size:
    """
    How large the clinic is.

    A day's patients are all different people. Their number is no multiple of a day's visits, so
    that the same person comes for another kind of visit the next time.
    """

    patients: int = 2_003
    practitioners: int = 8
    desks: int = 15
    owners: int = 2
    days_before: int = 28
    days_after: int = 42

    @property
    def visits_a_day(self) -> int:
        return self.practitioners * len(KINDS) * len(STARTS)


SMALL = Size(patients=61, practitioners=2, desks=2, owners=1, days_before=17, days_after=3)

# Five visits in a row, (kind, minutes, buffer), and when such a row begins.
KINDS = (
    (AppointmentKind.TREATMENT, 30, 5),
    (AppointmentKind.REVIEW, 15, 0),
    (AppointmentKind.CONSULTATION, 20, 0),
    (AppointmentKind.TOP_UP, 20, 0),
    (AppointmentKind.CALL, 10, 0),
)
STARTS = (time(8), time(9, 40), time(11, 20), time(13, 30), time(16))
WAITING = 40
WORK = ((time(8), time(13)), (time(13, 30), time(18, 30)))

GIVEN = (
    "Ada", "Basma", "Clara", "Dunja", "Edith", "Farah", "Gesa", "Hanna", "Ilse", "Jana", "Karin",
    "Lotte", "Mina", "Nadia", "Oona", "Petra", "Quirina", "Rosa", "Selma", "Tilda", "Ulla",
    "Vera", "Wanda", "Xenia", "Yara", "Zelda", "Arno", "Bela", "Carlo", "Dario", "Emil", "Falk",
    "Gero", "Hugo", "Ivo", "Jaro", "Kuno", "Lars", "Milo", "Nino",
)  # fmt: skip
FAMILY = (
    "Alder", "Birch", "Cedar", "Dogwood", "Elder", "Fir", "Gorse", "Hazel", "Ivy", "Juniper",
)  # fmt: skip
ENDINGS = ("", "by", "field", "ford", "ham", "land", "ley", "stead", "ton", "wick")


def fill_clinic(size: Size, now: datetime) -> None:
    """Everything the people of `people.py` look at and change."""
    injectors = [
        make_user(f"injector{number}", is_injector=True) for number in range(size.practitioners)
    ]
    desks = [make_user(f"desk{number}", is_front_desk=True) for number in range(size.desks)]
    for number in range(size.owners):
        make_user(f"owner{number}", is_owner=True)
    rooms = _premises(injectors)
    patients = _patients(size.patients, desks[0])
    visits = Appointment.objects.bulk_create(
        visit
        for number, day in enumerate(_days(size, timezone.localdate(now)))
        for visit in _day_of_visits(
            number * size.visits_a_day, day, injectors, rooms, patients, now
        )
    )
    stock = make_units(
        injectors[0], make_product(), quantity=len(injectors),
        expires_on=timezone.localdate(now) + timedelta(days=500),
    )  # fmt: skip
    fill_treatments(visits, stock[0].lot, desks[0], now)
    fill_messages(visits, now)
    fill_waiting_list(patients[:: len(patients) // WAITING], desks[0], now)
    _under_way(injectors, stock, now)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


def _premises(injectors: list[User]) -> list[Room]:
    """One site, a room for everybody and two more, open all week."""
    ClinicPolicy.objects.create(name="Larkstone Clinic", open_weekdays=[n for n, _ in WEEKDAYS])
    site = Site.objects.create(name="Larkstone")
    rooms = Room.objects.bulk_create(
        Room(site=site, name=f"Room {number:02d}") for number in range(1, len(injectors) + 3)
    )
    for kind, minutes, buffer in KINDS:
        row = VisitKind.objects.create(kind=kind, minutes=minutes, buffer_minutes=buffer)
        row.rooms.set(rooms)
    WorkingTime.objects.bulk_create(
        WorkingTime(
            person=person, site=site, weekday=weekday, starts=starts, ends=ends,
            from_on=date(2020, 1, 1),
        )
        for person in injectors
        for weekday, _ in WEEKDAYS
        for starts, ends in WORK
    )  # fmt: skip
    return rooms


def _patients(count: int, desk: User) -> list[Patient]:
    """People of different names who are found by them; one in four has an alert."""
    chosen = random.Random(6)  # noqa: S311
    patients = Patient.objects.bulk_create(
        Patient(
            record_number=f"L{number:06d}", full_name=name,
            birth_date=date(1945, 1, 1) + timedelta(days=chosen.randrange(20_000)),
            phone=(phone := f"07700 9{number:05d}"), phone_tail=phone_tail(phone),
            email=f"patient{number}@example.org", address=f"{number} Example Street",
        )
        for number, name in zip(range(count), _names(), strict=False)
    )  # fmt: skip
    found_by = {patient: search_words(patient) for patient in patients}
    PatientWord.objects.bulk_create(
        PatientWord(patient=patient, word=word, name_key=name_key(words))
        for patient, words in found_by.items()
        for word in words
    )
    Alert.objects.bulk_create(
        Alert(patient=patient, kind="allergy", level="stop", text="Lidocaine", added_by=desk)
        for patient in patients[::4]
    )
    return patients


def _names() -> Iterator[str]:
    """4,000 different ones; neighbours have little in common."""
    surnames = [name + ending for ending in ENDINGS for name in FAMILY]
    for number in range(len(GIVEN) * len(surnames)):
        turn, place = divmod(number, len(GIVEN))
        yield f"{GIVEN[place]} {surnames[(turn + place * 7) % len(surnames)]}"


def _days(size: Size, today: date) -> Iterator[date]:
    for offset in range(-size.days_before, size.days_after + 1):
        yield today + timedelta(days=offset)


def _day_of_visits(
    first: int,
    day: date,
    injectors: list[User],
    rooms: list[Room],
    patients: list[Patient],
    now: datetime,
) -> Iterator[Appointment]:
    """A day's visits as they stand; `first` counts those of earlier days, so patients return."""
    zone = timezone.get_current_timezone()
    number = first
    for person, room in zip(injectors, rooms, strict=False):
        for starts in STARTS:
            at = datetime.combine(day, starts, tzinfo=zone)
            for kind, minutes, buffer in KINDS:
                visit = Appointment(
                    patient=patients[number % len(patients)], practitioner=person, room=room,
                    site_id=room.site_id, kind=kind, starts_at=at, minutes=minutes,
                    buffer_minutes=buffer,
                )  # fmt: skip
                visit.state = _state_at(visit, number, now)
                if visit.state == AppointmentState.CANCELLED:
                    visit.cancel_reason = "Called, is ill"
                yield visit
                at += timedelta(minutes=minutes + buffer)
                number += 1


def _state_at(visit: Appointment, number: int, now: datetime) -> AppointmentState:
    """Over, under way or to come; of those who are next every second one waits already."""
    if visit.ends_at <= now:
        return _OVER.get(number % 20, AppointmentState.DONE)
    if visit.starts_at <= now:
        return AppointmentState.IN_ROOM
    is_early = visit.starts_at <= now + timedelta(minutes=20) and number % 2
    return AppointmentState.ARRIVED if is_early else AppointmentState.BOOKED


_OVER = {7: AppointmentState.DID_NOT_ATTEND, 13: AppointmentState.CANCELLED}


def _under_way(injectors: list[User], stock: list[UnitOfStock], now: datetime) -> None:
    """What is open: a session on each tablet, with a syringe, and three adverse events."""
    today = timezone.localdate(now)
    for injector, unit in zip(injectors, stock, strict=True):
        visit = injector.appointments.on(today).filter(kind=AppointmentKind.TREATMENT).last()
        make_session_with_unit(injector, visit.patient, unit)
    for patient in Patient.objects.order_by("-pk")[:3]:
        make_event(injectors[0], patient, onset_on=today - timedelta(days=3))
