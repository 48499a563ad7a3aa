"""The secret address of a diary: who makes it, what it shows, and when it is dead."""

import logging
from datetime import UTC, datetime, timedelta

import pytest
import vobject
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from clinic.access.logs import WithoutMessages
from clinic.audit.models import AuditEvent
from clinic.staff.models import User
from records.appointments.enums import AppointmentState
from records.appointments.models import Appointment
from records.appointments.services.states import set_state
from records.calendars.errors import NoDiary
from records.calendars.models import CalendarFeed
from records.calendars.services.feeds import make_feed, revoke_feed
from tests.factories import make_appointment, make_patient, make_room, make_user

TODAY = timezone.localdate()


def address_of(secret: str) -> str:
    return reverse("calendar-feed", kwargs={"secret": secret})


@pytest.fixture
def secret(injector):
    return make_feed(person=injector, actor=injector)


@pytest.fixture
def visit(desk, injector):
    patient = make_patient(desk, "Zenobia Ünmistakable", phone="07700 900123")
    return make_appointment(
        desk, patient, injector, f"{TODAY + timedelta(days=3)} 10:00", kind="treatment",
        note="Bring keys", room=make_room("Room 1", site="Harbour"),
    )  # fmt: skip


def events(response) -> list:
    return list(vobject.readOne(response.content.decode()).contents.get("vevent", []))


def test_the_diary_shows_initials_and_room_alone(client, secret, visit):
    response = client.get(address_of(secret))
    [event] = events(response)
    assert event.summary.value == "Z.Ü."
    assert event.location.value == "Room 1, Harbour"
    assert event.contents["class"][0].value == "PRIVATE"
    text = response.content.decode().replace("\r\n ", "")
    for hidden in (
        "enobia",
        "reatment:",
        "nmistakable",
        "900123",
        "keys",
        visit.patient.record_number,
    ):
        assert hidden not in text
    assert response["Content-Type"] == "text/calendar; charset=utf-8"
    assert response["Cache-Control"] == "private, no-cache"


def test_no_cookie_is_set_or_asked_for(client, secret):
    response = client.get(address_of(secret))
    assert not response.cookies
    assert "Cookie" not in response.get("Vary", "")


def test_the_address_of_whoever_sees_no_patients_any_more_is_dead(client, secret, injector):
    User.objects.filter(pk=injector.pk).update(is_injector=False, is_owner=True)
    assert client.get(address_of(secret)).status_code == 404


def test_other_peoples_visits_and_cancelled_ones_are_left_out(client, secret, visit, desk):
    other = make_user("second", is_injector=True)
    make_appointment(
        desk, make_patient(desk, "Bea Other"), other, f"{TODAY + timedelta(days=3)} 12:00"
    )
    set_state(appointment=visit, state=AppointmentState.CANCELLED, actor=desk, reason="Ill")
    assert events(client.get(address_of(secret))) == []


@pytest.mark.parametrize(("days", "is_shown"), [(-8, 0), (-7, 1), (180, 1), (181, 0)])
def test_a_week_back_and_half_a_year_ahead(client, secret, visit, days, is_shown):
    start = datetime.combine(TODAY + timedelta(days=days), datetime.min.time(), tzinfo=UTC)
    Appointment.objects.update(starts_at=start + timedelta(hours=12))
    assert len(events(client.get(address_of(secret)))) == is_shown


def test_what_has_not_changed_is_not_sent_again(client, secret, visit):
    first = client.get(address_of(secret))
    by_tag = client.get(address_of(secret), headers={"if-none-match": first["ETag"]})
    since = {"if-modified-since": first["Last-Modified"]}
    assert by_tag.status_code == client.get(address_of(secret), headers=since).status_code == 304
    visit.starts_at += timedelta(hours=1)
    visit.save()
    again = client.get(address_of(secret), headers={"if-none-match": first["ETag"]})
    assert again.status_code == 200
    [event] = events(again)
    assert event.uid.value == events(first)[0].uid.value
    assert event.dtstart.value == events(first)[0].dtstart.value + timedelta(hours=1)


def test_one_that_never_was_answers_as_one_that_is_revoked(client, secret, injector):
    assert client.get(address_of(secret)).status_code == 200
    revoke_feed(person=injector, actor=injector)
    revoked, wrong = client.get(address_of(secret)), client.get(address_of("x" * 43))
    assert revoked.status_code == wrong.status_code == 404
    assert revoked.content == wrong.content
    for answer in (revoked, wrong):
        del answer.headers["X-Request-ID"]  # each has its own
    assert revoked.headers == wrong.headers


def test_whoever_leaves_takes_the_address_along_for_good(client, secret, injector):
    User.objects.filter(pk=injector.pk).update(is_active=False)
    assert client.get(address_of(secret)).status_code == 404
    User.objects.filter(pk=injector.pk).update(is_active=True)
    assert client.get(address_of(secret)).status_code == 404


def test_a_new_address_ends_the_old_one(client, secret, injector, owner):
    newer = make_feed(person=injector, actor=owner)
    assert client.get(address_of(secret)).status_code == 404
    assert client.get(address_of(newer)).status_code == 200


def test_the_secret_is_kept_nowhere(secret, injector):
    feed = CalendarFeed.objects.get()
    kept = [str(value) for value in CalendarFeed.objects.values_list().get()]
    assert secret not in " ".join(kept)
    assert not AuditEvent.objects.filter(data__contains=secret).exists()
    assert len(secret) == 43  # 32 bytes, RFC 4648 section 5
    assert feed.person == injector


def test_the_trail_holds_the_first_reading_of_a_day(client, secret):
    for _ in range(3):
        client.get(address_of(secret))
    assert AuditEvent.objects.filter(action="calendar_feed.read").count() == 1
    assert CalendarFeed.objects.get().fetched_at is not None


def test_a_log_line_holds_no_secret(secret):
    record = logging.LogRecord(
        "django.request", logging.WARNING, __file__, 1, "Not Found: %s (%s)",
        (address_of(secret), f'"GET {address_of(secret)}?x=1 HTTP/1.1"'), None,
    )  # fmt: skip
    line = WithoutMessages().format(record)
    assert secret not in line
    assert line.count("/calendars/feed/(withheld)") == 2


def test_reading_takes_as_many_queries_with_three_visits_as_with_one(
    client, secret, visit, desk, injector, django_assert_num_queries
):
    client.get(address_of(secret))
    with django_assert_num_queries(7):
        client.get(address_of(secret))
    for hour in (12, 14):
        make_appointment(desk, visit.patient, injector, f"{TODAY + timedelta(days=3)} {hour}:00")
    with django_assert_num_queries(7):
        client.get(address_of(secret))


def test_somebody_who_sees_no_patients_has_no_diary(owner):
    with pytest.raises(NoDiary):
        make_feed(person=owner, actor=owner)


@pytest.mark.parametrize(
    "change",
    [
        {"revoked_at": None},
        {"revoked_at": datetime(2030, 1, 1, tzinfo=UTC)},
    ],
)
def test_the_database_keeps_a_revoked_address_so(secret, injector, change):
    revoke_feed(person=injector, actor=injector)
    with pytest.raises(IntegrityError, match="stays revoked"), transaction.atomic():
        CalendarFeed.objects.update(**change)


def test_the_database_holds_one_address_a_person(secret, injector):
    with pytest.raises(IntegrityError), transaction.atomic():
        CalendarFeed.objects.create(
            person=injector, secret_digest="1" * 64, made_at=timezone.now(), made_by=injector
        )


def test_the_database_asks_when_it_was_revoked(secret, injector):
    with pytest.raises(IntegrityError), transaction.atomic():
        CalendarFeed.objects.update(revoked_by=injector)
