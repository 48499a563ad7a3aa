"""Visits that lie outside of working times are listed with what is in the way."""

from datetime import UTC, date, datetime, time

import pytest
from django.urls import reverse

from clinic.hours.enums import AbsenceKind
from clinic.sites.models import Site
from records.appointments.enums import AppointmentState
from records.appointments.services.states import set_state
from records.to_move.queries import visits_to_move
from tests.factories import (
    make_absence,
    make_appointment,
    make_closure,
    make_patient,
    make_room,
    make_user,
    make_working_time,
)

pytestmark = pytest.mark.django_db
NOW = datetime(2031, 3, 2, 12, tzinfo=UTC)  # a Sunday
MONDAY = "2031-03-03"


@pytest.fixture
def visit(owner, injector):
    return make_appointment(owner, make_patient(owner), injector, f"{MONDAY} 10:00")


def reasons() -> list[str]:
    return [row.reason for row in visits_to_move(NOW)]


def away(**whose):
    return make_absence(
        starts_at=datetime(2031, 3, 3, 9, tzinfo=UTC), ends_at=datetime(2031, 3, 4, tzinfo=UTC),
        **whose,
    )  # fmt: skip


def test_a_visit_in_working_hours_is_not_listed(visit):
    assert reasons() == []


def test_leave_a_break_and_a_closure_are_in_the_way(visit, owner, injector):
    absence = away(person=injector)
    assert reasons() == ["Leave"]
    absence.delete()
    site = Site.objects.create(name="Harbour")
    make_working_time(injector, site, ends=time(10))
    make_working_time(injector, site, starts=time(11))
    assert reasons() == ["Break"]
    make_closure(owner, starts_on=date(2031, 3, 3), ends_on=date(2031, 3, 3), reason="Storm")
    assert reasons() == ["The clinic is closed on Monday 3 March 2031 (Storm)"]


def test_a_room_out_of_order_or_out_of_use_is_in_the_way(visit):
    room = make_room()
    visit.room = room
    visit.save()
    assert reasons() == []
    away(room=room, kind=AbsenceKind.OUT_OF_ORDER)
    assert reasons() == ["Room 1: Out of order"]
    room.is_active = False
    room.save()
    assert reasons() == ["Room 1 is no longer in use"]


def test_a_practitioner_at_another_site_or_gone_is_in_the_way(visit, injector):
    visit.room = make_room(site="Harbour")
    visit.save()
    make_working_time(injector, Site.objects.create(name="Hill"))
    assert reasons() == ["At Hill then, not at Harbour"]
    injector.is_active = False
    injector.save()
    assert reasons() == ["Ida Injector no longer works here"]


def test_what_is_cancelled_or_over_is_not_listed(visit, owner, injector):
    away(person=injector)
    assert visits_to_move(datetime(2031, 3, 3, 11, tzinfo=UTC)) == []
    state = AppointmentState.CANCELLED
    set_state(appointment=visit, state=state, actor=owner, reason="On holiday")
    assert reasons() == []


def test_the_page_names_the_visit_and_more_of_them_ask_no_more(
    signed_in, desk, owner, injector, visit, django_assert_num_queries
):
    away(person=injector)
    visit.room = make_room()
    visit.save()
    with django_assert_num_queries(10):
        visits_to_move(NOW)
    for number in range(3):
        person = make_user(f"locum {number}", is_injector=True)
        other = make_appointment(owner, make_patient(owner), person, f"{MONDAY} 18:00")
        other.room = make_room(f"Room {number + 2}")
        other.save()
    with django_assert_num_queries(10):
        assert len(visits_to_move(NOW)) == 4
    page = signed_in(desk).get(reverse("to-move")).content.decode()
    move = f'href="{reverse("appointment-move", args=[visit.pk])}?next='
    for words in ("Ann Example", "Mon 3 Mar 2031, 10:00", "Leave", "Not at work", move):
        assert words in page


def test_how_many_there_are_stands_in_links_and_on_the_start_page(
    signed_in, desk, owner, injector, visit
):
    count, notice = reverse("to-move-count"), reverse("to-move-notice")
    client = signed_in(desk)
    assert [client.get(address).content.strip() for address in (count, notice)] == [b"", b""]
    away(person=injector)
    assert ">1</span>" in client.get(count).content.decode()
    line = client.get(notice).content.decode()
    assert "To move: 1 visit booked" in line
    assert "the next on Mon 3 Mar, 10:00 (Leave)" in line
    assert f'hx-get="{count}"' in client.get(reverse("diary"), {"day": MONDAY}).content.decode()
    for role, is_told in ((desk, True), (owner, True), (injector, False)):
        start = signed_in(role).get(reverse("today")).content.decode()
        assert (f'hx-get="{notice}"' in start) == is_told


def test_a_visit_to_move_can_be_called_about_cancelled_or_taken_back(
    signed_in, desk, owner, injector, visit
):
    away(person=injector)
    visit.patient.phone = "01632 960001"
    visit.patient.save()
    client, address = signed_in(desk), reverse("to-move")
    page = client.get(address).content.decode()
    cancel = reverse("appointment-cancel", args=[visit.pk])
    for words in ("tel:01632960001", f'href="{cancel}?next=%2Fto-move%2F"', ">1</span>"):
        assert words in page
    visit.state, visit.held_until = AppointmentState.OFFERED, NOW
    visit.save()
    page = client.get(address).content.decode()
    assert cancel not in page
    assert "Take the offer back" in page


@pytest.mark.parametrize(
    "first", ["soon", "0001-01-01T00:00:00+00:00", "9999-12-31T23:00:00-09:00"]
)
def test_an_address_without_a_span_shows_no_visit(signed_in, desk, visit, first):
    asked = {"starts_at": first, "ends_at": "9999-12-31T23:00:00-09:00"}
    page = signed_in(desk).get(reverse("to-move-during"), asked)
    assert "No visit is booked then." in page.content.decode()


def test_a_span_of_one_room_lists_its_visits_alone(signed_in, desk, visit):
    room = make_room()
    asked = {"starts_at": f"{MONDAY} 00:00", "ends_at": "2031-03-04 00:00"}
    url, client = reverse("to-move-during"), signed_in(desk)
    assert "Ann Example" in client.get(url, asked).content.decode()
    assert "Ann Example" not in client.get(url, asked | {"room": room.pk}).content.decode()
