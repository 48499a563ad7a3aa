"""What calendars are told: where an appointment is, a person's diary, who has an address for it."""

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import F, Prefetch, QuerySet
from django.db.models.functions import Coalesce
from django.utils import timezone

from clinic.policy.models import ClinicPolicy
from clinic.sites.models import Site
from clinic.staff.models import User
from planning.initials import initials
from records.appointments.enums import AppointmentState
from records.appointments.models import Appointment, start_of
from records.appointments.queries.day import practitioners
from records.calendars.models import CalendarFeed

# What a diary shows around today. So many entries are more than a person can see in that time.
DAYS_BACK, DAYS_AHEAD = 7, 180
MOST_ENTRIES = 5_000


@dataclass(frozen=True, slots=True)
class DiaryLine:
    """One appointment of a diary, without anything that names the patient."""

    pk: int
    starts_at: datetime
    minutes: int
    is_offered: bool
    initials: str
    place: str
    changed_at: datetime


def site_of(appointment: Appointment) -> Site | None:
    """The branch of the appointment, or that of its room."""
    return appointment.site or (appointment.room.site if appointment.room else None)


def place_of(appointment: Appointment, policy: ClinicPolicy) -> str:
    """Where the patient comes: name and address of the branch, or of the clinic, on one line."""
    site = site_of(appointment)
    name, address = (site.name, site.address) if site else (policy.name, policy.address)
    lines = [name, *(address or policy.address).splitlines()]
    return ", ".join(line.strip() for line in lines if line.strip())


def digest_of(secret: str) -> str:
    """
    How a secret is kept. Nothing slower is needed: it is 256 random bits, which nobody guesses.
    """
    return hashlib.sha256(secret.encode()).hexdigest()


def feed_of(secret: str) -> CalendarFeed | None:
    """The feed that answers at this secret, with its person; None if there is none any more."""
    found = CalendarFeed.objects.alive().filter(secret_digest=digest_of(secret))
    return found.select_related("person").first()


def people_with_feeds(*, only: User | None = None) -> QuerySet[User]:
    """Who sees patients, or `only` this one of them; `their_feeds` holds the one that is alive."""
    alive = CalendarFeed.objects.alive().select_related("made_by")
    people = practitioners() if only is None else practitioners().filter(pk=only.pk)
    return people.prefetch_related(Prefetch("calendar_feeds", alive, to_attr="their_feeds"))


def diary_of(person: User, today: date) -> Iterator[DiaryLine]:
    """What stands in a person's diary around `today`, in its order: one query."""
    rows = (
        Appointment.objects.taking_place()
        .filter(
            practitioner=person,
            starts_at__gte=start_of(today - timedelta(days=DAYS_BACK)),
            starts_at__lt=start_of(today + timedelta(days=DAYS_AHEAD + 1)),
        )
        .order_by("starts_at", "id")
        .values_list(
            "pk", "starts_at", "minutes", "state", "patient__full_name", "room__name",
            Coalesce(F("room__site__name"), F("site__name")), "changed_at",
        )
    )  # fmt: skip
    for pk, starts_at, minutes, state, full_name, room, site, changed_at in rows[:MOST_ENTRIES]:
        yield DiaryLine(
            pk=pk,
            starts_at=timezone.localtime(starts_at),
            minutes=minutes,
            is_offered=state == AppointmentState.OFFERED,
            initials=initials(full_name),
            place=", ".join(part for part in (room, site) if part),
            changed_at=changed_at,
        )
