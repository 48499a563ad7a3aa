"""Moving an appointment: by its form, by dragging, and when two people do it."""

from datetime import UTC, datetime, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from records.appointments.enums import AppointmentState
from records.appointments.errors import AppointmentClosed, AppointmentMoved, TimeTaken
from records.appointments.services.moving import Whereto, move
from records.appointments.services.states import note_late, set_state
from tests.factories import (
    make_appointment,
    make_patient,
    make_room,
    make_user,
    make_working_time,
    refreshed,
)

pytestmark = pytest.mark.django_db
ELEVEN = datetime(2027, 6, 1, 10, tzinfo=UTC)  # 11:00 in London
HTMX = {"hx-request": "true"}


@pytest.fixture
def booked(desk, injector, patient):
    return make_appointment(desk, patient, injector, "2027-06-01 10:00")


@pytest.fixture
def lea(db):
    return make_user("lea", is_injector=True)


def to(booked, starts_at=ELEVEN, **fields) -> Whereto:
    values = {"minutes": 30, "practitioner": booked.practitioner, "room": None} | fields
    return Whereto(starts_at, **values)


def test_it_is_moved_in_time_and_to_somebody_else_and_the_trail_says_so(desk, booked, lea):
    move(appointment=booked, to=to(booked, practitioner=lea), actor=desk, reason=" Asked for it ")
    stored = refreshed(booked)
    assert (stored.starts_at, stored.practitioner) == (ELEVEN, lea)
    event = AuditEvent.objects.get(action="appointment.moved")
    assert "2027-06-01T09:00:00Z" in event.data
    assert '"reason":"Asked for it"' in event.data


def test_to_where_it_is_already_nothing_happens(desk, booked):
    move(appointment=booked, to=to(booked, booked.starts_at), actor=desk)
    assert not AuditEvent.objects.filter(action="appointment.moved").exists()


def test_a_time_that_is_taken_leaves_it_where_it_was(desk, booked, injector):
    make_appointment(desk, make_patient(desk, "Ben Example"), injector, "2027-06-01 11:15")
    with pytest.raises(TimeTaken, match="from 11:15 to 11:45"):
        move(appointment=booked, to=to(booked), actor=desk)
    assert refreshed(booked).starts_at == ELEVEN - timedelta(hours=1)


def test_it_does_not_stand_in_its_own_way(desk, booked):
    move(appointment=booked, to=to(booked, ELEVEN - timedelta(minutes=45)), actor=desk)
    assert refreshed(booked).starts_at == ELEVEN - timedelta(minutes=45)


def test_a_room_takes_its_site_along(desk, booked):
    room = make_room()
    move(appointment=booked, to=to(booked, room=room), actor=desk)
    assert (refreshed(booked).room, refreshed(booked).site) == (room, room.site)


def test_a_move_of_a_colleague_is_not_undone_unseen(desk, booked):
    seen = booked.starts_at
    move(appointment=booked, to=to(booked), actor=desk)
    with pytest.raises(AppointmentMoved, match="1 June 2027 at 11:00"):
        move(appointment=booked, to=to(booked, seen), actor=desk, seen_at=seen)


@pytest.mark.parametrize("state", ["done", "cancelled", "did_not_attend"])
def test_what_is_over_stays(desk, booked, state):
    set_state(appointment=booked, state=AppointmentState(state), actor=desk, reason="A cold")
    with pytest.raises(AppointmentClosed):
        move(appointment=booked, to=to(booked), actor=desk)


# By its page, and by the diary


def dragged(injector, start="11:00", **fields) -> dict:
    return {
        "day": "2027-06-01", "start": start, "practitioner": injector.pk, "room": "", **fields,
    }  # fmt: skip


def test_a_drag_is_answered_with_nothing(signed_in, desk, injector, booked):
    address = reverse("appointment-move", args=[booked.pk])
    answer = signed_in(desk).post(address, dragged(injector), headers=HTMX)
    assert answer.status_code == 204
    assert refreshed(booked).starts_at == ELEVEN


def test_a_drag_onto_another_visit_is_answered_with_the_nearest_free_times(
    signed_in, desk, injector, booked
):
    make_appointment(desk, make_patient(desk, "Ben Example"), injector, "2027-06-01 11:15")
    address = reverse("appointment-move", args=[booked.pk])
    with_time = dragged(injector)
    answer = signed_in(desk).post(address, with_time, headers=HTMX)
    page = answer.content.decode()
    assert answer.status_code == 409
    assert "Ida Injector has another appointment from 11:15 to 11:45." in page
    assert "Ben Example" not in page


def test_a_drag_out_of_the_working_hours_is_confirmed_once(signed_in, desk, injector, booked):
    client, address = signed_in(desk), reverse("appointment-move", args=[booked.pk])
    answer = client.post(address, dragged(injector, "19:00"), headers=HTMX)
    assert answer.status_code == 422
    assert "Ida Injector: Not at work" in answer.content.decode()
    asked = answer.context["form"].to_confirm
    answer = client.post(address, dragged(injector, "19:00", confirmed=asked), headers=HTMX)
    assert answer.status_code == 204


@pytest.mark.parametrize(
    "fields",
    [{"day": "soon"}, {"start": "25:99"}, {"practitioner": "x"}, {"room": "99999"}, {"seen": "x"}],
)
def test_a_drag_to_nowhere_is_explained(signed_in, desk, injector, booked, fields):
    address = reverse("appointment-move", args=[booked.pk])
    answer = signed_in(desk).post(address, dragged(injector, **fields), headers=HTMX)
    assert answer.status_code == 422
    assert "<p>" in answer.content.decode()
    assert refreshed(booked).starts_at == booked.starts_at


def test_the_page_of_moving_shows_times_that_fit_and_moves(signed_in, desk, injector, patient):
    day = timezone.localdate() + timedelta(days=7 - timezone.localdate().weekday())
    booked = make_appointment(desk, patient, injector, f"{day} 10:00")
    client, address = signed_in(desk), reverse("appointment-move", args=[booked.pk])
    page = client.get(address)
    fit = page.context["days"][0].fits[0]
    assert fit.value in page.content.decode()
    answer = client.post(address, {"slot": fit.value, "next": "/patients/"})
    assert (answer.status_code, answer.headers["Location"]) == (302, "/patients/")
    assert refreshed(booked).starts_at == fit.starts_at


def test_a_lost_time_on_the_page_of_moving_keeps_what_was_typed(signed_in, desk, injector, booked):
    make_appointment(desk, make_patient(desk, "Ben Example"), injector, "2027-06-01 11:00")
    address = reverse("appointment-move", args=[booked.pk])
    answer = signed_in(desk).post(address, dragged(injector, reason="Her train is late"))
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "has another appointment" in page
    assert 'value="Her train is late"' in page


def test_what_was_said_of_the_old_time_is_not_said_of_the_new_one(desk, injector, patient):
    today = timezone.localdate()
    booked = make_appointment(desk, patient, injector, f"{today} 10:00")
    note_late(appointment=booked, minutes=15, actor=desk)
    set_state(appointment=booked, state=AppointmentState.ARRIVED, actor=desk)
    tomorrow = booked.starts_at + timedelta(days=1)
    stored = move(appointment=booked, to=to(booked, tomorrow), actor=desk)
    assert (stored.late_minutes, stored.state) == (0, AppointmentState.BOOKED)
    assert refreshed(booked).late_minutes == 0


def test_a_page_that_is_behind_starts_again_from_where_the_visit_is(
    signed_in, desk, injector, lea, booked
):
    seen = "2027-06-01T10:00"
    move(appointment=booked, to=to(booked, practitioner=lea), actor=desk)
    fields = dragged(injector, "12:00", seen=seen, reason="Her train is late")
    answer = signed_in(desk).post(reverse("appointment-move", args=[booked.pk]), fields)
    page, form = answer.content.decode(), answer.context["form"]
    assert answer.status_code == 422
    assert "It was moved to 1 June 2027 at 11:00 while this page was open." in page
    assert "colleague" not in page
    assert (form["practitioner"].value(), form["seen"].value()) == (lea.pk, "2027-06-01T11:00")
    assert 'value="Her train is late"' in page


def test_an_alternative_to_a_drag_still_says_what_was_seen(signed_in, desk, injector, booked):
    make_appointment(desk, make_patient(desk, "Ben Example"), injector, "2027-06-01 11:15")
    fields = dragged(injector, seen="2027-06-01T10:00")
    page = (
        signed_in(desk)
        .post(reverse("appointment-move", args=[booked.pk]), fields, headers=HTMX)
        .content.decode()
    )
    assert page.count('name="seen" value="2027-06-01T10:00"') == page.count('name="slot"') == 3


def test_a_visit_of_somebody_who_left_is_moved_to_whoever_is_free(
    signed_in, desk, injector, lea, patient
):
    booked = make_appointment(desk, patient, injector, "2027-06-01 10:00")
    injector.is_active = False
    injector.save()
    client, address = signed_in(desk), reverse("appointment-move", args=[booked.pk])
    refused = client.post(address, dragged(injector), headers=HTMX)
    assert (refused.status_code, "does not see patients now" in refused.content.decode()) == (
        422,
        True,
    )
    fit = client.get(address).context["days"][0].fits[0]
    assert client.post(address, {"slot": fit.value}).status_code == 302
    assert refreshed(booked).practitioner == lea


def test_a_visit_without_a_room_is_where_the_practitioner_works(desk, injector, patient):
    here, there = make_room().site, make_room(site="Harbour").site
    make_working_time(injector, here, weekday=2)  # 1 June 2027 is a Tuesday
    make_working_time(injector, there, weekday=3)
    booked = make_appointment(desk, patient, injector, "2027-06-01 10:00")
    assert booked.site == here
    moved = move(appointment=booked, to=to(booked, ELEVEN + timedelta(days=1)), actor=desk)
    assert moved.site == there
    moved = move(appointment=moved, to=to(booked, ELEVEN + timedelta(days=2)), actor=desk)
    assert moved.site == there


# The page follows what is chosen on it


@pytest.fixture
def monday(desk, injector, patient):
    day = timezone.localdate() + timedelta(days=7 - timezone.localdate().weekday())
    return make_appointment(desk, patient, injector, f"{day} 10:00")


def offered(context) -> list:
    return [*context["suggested"], *(fit for one in context["days"] for fit in one.fits)]


def test_the_page_of_moving_offers_only_times_of_the_one_who_is_chosen(
    signed_in, desk, injector, lea, monday
):
    client, address = signed_in(desk), reverse("appointment-move", args=[monday.pk])
    page = client.get(address)
    assert {fit.practitioner for fit in offered(page.context)} == {injector}
    asked = {"patient": monday.patient_id, "moving": monday.pk, "practitioner": lea.pk}
    times = client.get(reverse("appointment-times"), asked | {"minutes": "60", "slot": "own"})
    assert {fit.practitioner for fit in offered(times.context)} == {lea}
    assert times.context["wanted"].minutes == 60
    assert "Nearest to its time now" in times.content.decode()


def test_the_time_that_it_has_is_not_offered_again(signed_in, desk, injector, lea, monday):
    client, address = signed_in(desk), reverse("appointment-move", args=[monday.pk])
    own = monday.starts_at
    assert own not in {fit.starts_at for fit in offered(client.get(address).context)}
    asked = {"patient": monday.patient_id, "moving": monday.pk, "practitioner": lea.pk}
    times = client.get(reverse("appointment-times"), asked)
    assert own in {fit.starts_at for fit in offered(times.context)}


def test_a_time_of_somebody_else_than_is_chosen_is_refused(signed_in, desk, injector, lea, monday):
    client, address = signed_in(desk), reverse("appointment-move", args=[monday.pk])
    theirs = offered(client.get(address).context)[0].value
    answer = client.post(address, {"practitioner": lea.pk, "minutes": "60", "slot": theirs})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "That time is not Lea" in page
    assert "all the same" not in page
    assert {fit.practitioner for fit in offered(answer.context)} == {lea}
    assert refreshed(monday).practitioner == injector


def test_another_person_and_site_are_said_by_name(signed_in, desk, injector, lea, monday):
    here, there = make_room(), make_room(site="Harbour")
    move(appointment=monday, to=to(monday, monday.starts_at, room=here), actor=desk)
    address = reverse("appointment-move", args=[monday.pk])
    day = timezone.localtime(monday.starts_at)
    fields = {
        "day": f"{day:%Y-%m-%d}", "start": "11:00", "practitioner": lea.pk, "room": there.pk,
    }  # fmt: skip
    page = signed_in(desk).post(address, {**fields, "next": "/patients/"}, follow=True)
    said = page.content.decode().split("data-toasts", 1)[1]
    assert f"Ann Example ({monday.patient.record_number}) is moved to Monday" in said
    assert "at 11:00 with Lea instead of Ida Injector" in said
    assert "at Harbour instead of Larkstone" in said
    history = signed_in(desk).get(reverse("appointment-detail", args=[monday.pk]))
    room = next(one for one in history.context["history"][0].changes if one.label == "Room")
    assert (room.before, room.after) == ("Larkstone, Room 1", "Harbour, Room 1")


def test_moving_it_to_where_it_is_says_that_nothing_is_changed(signed_in, desk, monday):
    address = reverse("appointment-move", args=[monday.pk])
    page = signed_in(desk).post(address, {"slot": "own", **dragged_to_own(monday)}, follow=True)
    assert "Nothing is changed: Ann Example" in page.content.decode()


def dragged_to_own(one) -> dict:
    day = timezone.localtime(one.starts_at)
    return {"day": f"{day:%Y-%m-%d}", "start": f"{day:%H:%M}", "practitioner": one.practitioner_id}


def test_a_day_that_has_passed_takes_no_visit(signed_in, desk, monday):
    address = reverse("appointment-move", args=[monday.pk])
    fields = dragged_to_own(monday) | {"day": "2020-03-02", "confirmed": "2020-03-02"}
    answer = signed_in(desk).post(address, fields)
    assert answer.status_code == 422
    assert "That day has passed: move it to today or a later day." in answer.content.decode()
    assert refreshed(monday).starts_at == monday.starts_at


def test_the_box_that_moves_it_all_the_same_stands_above_what_it_is_about(signed_in, desk, monday):
    address = reverse("appointment-move", args=[monday.pk])
    answer = signed_in(desk).post(address, dragged_to_own(monday) | {"start": "20:00"})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Tick the box to move it all the same" in page
    assert page.index("Move it all the same") < page.index('id="id_practitioner"')
