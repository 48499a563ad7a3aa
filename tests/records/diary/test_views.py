"""The diary's pages as people use them."""

from datetime import UTC, date, datetime, time, timedelta

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.hours.models import Absence, WorkingTime
from clinic.sites.models import Site
from records.appointments.enums import AppointmentState
from records.appointments.services.states import note_late, set_state
from records.reminders.enums import AnswerKind
from records.reminders.services.settling import settle_answer
from tests.factories import (
    make_alert,
    make_appointment,
    make_closure,
    make_patient,
    make_room,
    make_user,
)
from tests.pdf import pdf_text
from tests.records.follow_up.conftest import make_answer

pytestmark = pytest.mark.django_db

TUESDAY = date(2026, 12, 1)
NOW = datetime(2026, 11, 29, 12, tzinfo=UTC)
DAY = f"/diary/?day={TUESDAY}"
WEEK = f"/diary/week/?day={TUESDAY}"


@pytest.fixture(autouse=True)
def clock():
    """The days that are looked at are ahead, whenever the tests run."""
    with time_machine.travel(NOW) as traveller:
        yield traveller


@pytest.fixture
def booked(desk, injector, patient):
    return make_appointment(desk, patient, injector, f"{TUESDAY} 10:15")


def columns(answer) -> dict:
    """The board's columns by their titles."""
    shown = answer.context["shown"].board if "shown" in answer.context else answer.context["board"]
    return {column.title: column for column in shown.columns}


def items(column) -> list[str]:
    """What stands in a column from top to bottom: "10:15 Ann Example", "09:00 free"."""
    return [f"{one.start} {'free' if one.is_gap else one.patient}" for one in placed(column)]


def placed(column) -> list:
    """Visits and free time."""
    return [part for part in column.parts if not part.is_shade]


def reasons(column) -> list[str]:
    """Why what cannot be booked cannot, "" out of hours."""
    return [part.reason for part in column.parts if part.is_shade]


def moment(text: str) -> datetime:
    local = datetime.fromisoformat(text).replace(tzinfo=timezone.get_current_timezone())
    return local.astimezone(UTC)


def test_a_patient_who_cannot_come_is_seen_on_the_card_and_on_the_visit(signed_in, desk, booked):
    client = signed_in(desk)
    marks = [client.get(DAY).context["mark"]]
    answer = make_answer(booked, AnswerKind.CANNOT, "Ill, <b>sorry</b>")
    page = client.get(DAY)
    marks.append(page.context["mark"])
    assert 'aria-label="Cannot come"' in page.content.decode()
    assert '<span class="key kind-top_up">Top-up</span>' in page.content.decode()
    for address in (f"/diary/visit/{booked.pk}/", f"/reminders/for-appointment/{booked.pk}/"):
        visit = client.get(address).content.decode()
        assert "The patient cannot come" in visit
        assert "Ill, &lt;b&gt;sorry&lt;/b&gt;" in visit
        assert f"/reminders/#answer-{answer.pk}" in visit
    settle_answer(answer=answer, actor=desk)
    page = client.get(DAY)
    marks.append(page.context["mark"])
    assert 'aria-label="Cannot come"' not in page.content.decode()
    # Whoever has the diary open is shown both.
    assert [marks[0] == marks[1], marks[1] == marks[2]] == [False, False]


def test_what_was_said_of_another_time_is_no_sign_on_the_card(signed_in, desk, booked):
    make_answer(booked, AnswerKind.CHANGE)
    booked.starts_at += timedelta(minutes=15)
    booked.save()
    assert "Asks for a change" not in signed_in(desk).get(DAY).content.decode()


def test_a_day_has_a_column_for_everybody_who_can_be_booked(signed_in, desk, injector, booked):
    make_user("lea", is_injector=True)
    shown = columns(signed_in(desk).get(DAY))
    assert items(shown["Ida Injector"]) == ["09:00 free", "10:15 Ann Example", "10:45 free"]
    assert items(shown["Lea"]) == ["09:00 free"]


def test_only_time_that_is_still_to_come_is_free(signed_in, desk, injector, booked, clock):
    column = "Ida Injector"
    clock.move_to(moment("2026-12-01 14:02"))
    client = signed_in(desk)
    today = columns(client.get(DAY))[column]
    assert items(today) == ["10:15 Ann Example", "14:05 free"]
    assert today.notes == ["1 visit", "2 h 55 min free"]
    clock.move_to(moment("2026-12-01 21:00"))
    assert columns(client.get(DAY))[column].notes == ["1 visit"]
    [row] = client.get(WEEK).context["rows"]
    assert [(cell.booked, cell.free, cell.is_over) for cell in row.cells[:2]] == [
        ("", "", True), ("30 min", "", False),
    ]  # fmt: skip
    yesterday = client.get("/diary/?day=2026-11-30")
    assert items(columns(yesterday)[column]) == []
    assert "Press free time" not in yesterday.content.decode()


def test_whoever_left_keeps_a_column_while_something_is_booked(signed_in, desk, injector, booked):
    injector.is_active = False
    injector.save(update_fields=["is_active"])
    client = signed_in(desk)
    assert list(columns(client.get(DAY))) == ["Ida Injector"]
    assert columns(client.get("/diary/?day=2026-12-02")) == {}


def test_whoever_left_and_a_room_out_of_use_have_no_free_time(
    signed_in, desk, injector, booked, clock
):
    room = make_room("Room 1")
    room.is_active = injector.is_active = False
    booked.room = room
    for one in (room, injector, booked):
        one.save()
    client = signed_in(desk)
    column = columns(client.get(DAY))["Ida Injector"]
    assert (items(column), column.notes) == (["10:15 Ann Example"], ["1 visit"])
    assert reasons(column) == ["No longer works here"]
    [row] = client.get(WEEK).context["rows"]
    assert [cell.closed for cell in row.cells] == ["No longer works here"] * 7
    for page in (f"{DAY}&by=room", f"{WEEK}&room={room.pk}"):
        column = next(one for one in columns(client.get(page)).values() if placed(one))
        assert (items(column), reasons(column)) == (["10:15 Ann Example"], ["No longer in use"])
    # What was worked before stays as it was.
    clock.move_to(moment("2026-12-02 10:00"))
    column = columns(signed_in(desk).get(DAY))["Ida Injector"]
    assert "No longer works here" not in reasons(column)


def test_by_rooms_each_room_has_a_column_and_visits_without_one_theirs(
    signed_in, desk, injector, booked
):
    room = make_room("Room 1")
    make_appointment(desk, make_patient(desk, "Ben Example"), injector, "2026-12-01 13:00",
                     room=room)  # fmt: skip
    shown = columns(signed_in(desk).get(f"{DAY}&by=room"))
    assert items(shown["Room 1"])[1] == "13:00 Ben Example"
    assert items(shown["No room"]) == ["10:15 Ann Example"]


def test_free_time_opens_the_booking_page_for_it(signed_in, desk, injector, booked):
    page = signed_in(desk).get(DAY).content.decode()
    asked = f"day=2026-12-01&amp;start=10%3A45&amp;practitioner={injector.pk}"
    assert f'href="{reverse("appointment-create")}?{asked}"' in page


def test_preparation_and_buffer_are_no_free_time(signed_in, desk, injector, patient):
    visit = make_appointment(desk, patient, injector, f"{TUESDAY} 10:15", kind="treatment")
    visit.preparation_minutes, visit.buffer_minutes = 15, 10
    visit.save()
    column = columns(signed_in(desk).get(DAY))["Ida Injector"]
    assert [(one.start, one.until) for one in column.parts if one.is_gap] == [
        ("09:00", "10:00"), ("10:55", "17:00"),
    ]  # fmt: skip
    assert len(column.edges) == 2


def test_hours_breaks_and_leave_are_told(signed_in, desk, injector):
    site = Site.objects.create(name="Larkstone")
    for starts, ends in [(time(8), time(12)), (time(13), time(16))]:
        WorkingTime.objects.create(
            person=injector, site=site, weekday=2, starts=starts, ends=ends,
            from_on=date(2026, 1, 1),
        )  # fmt: skip
    Absence.objects.create(
        person=injector, kind="training", starts_at=moment("2026-12-01 15:00"),
        ends_at=moment("2026-12-02 09:00"),
    )  # fmt: skip
    column = columns(signed_in(desk).get(DAY))["Ida Injector"]
    assert items(column) == ["08:00 free", "13:00 free"]
    assert set(reasons(column)) == {"Break", "Training"}
    told = [(part.start, part.until) for part in column.parts]
    assert told[:3] == [("08:00", "12:00"), ("12:00", "13:00"), ("13:00", "15:00")]


def test_a_visit_in_somebody_s_leave_is_marked_and_told(signed_in, desk, injector, booked):
    client, card = signed_in(desk), reverse("diary-visit", args=[booked.pk])
    sign, hint = 'aria-label="To move: Leave"', "1 visit lies where nobody works"
    assert "has to be moved</p>" not in client.get(card).content.decode()
    Absence.objects.create(
        person=injector, starts_at=moment("2026-12-01 10:15"), ends_at=moment("2026-12-01 12:00")
    )
    room = make_room("Room 1")
    booked.room = room
    booked.save()
    for page in (DAY, f"{DAY}&by=room", f"{WEEK}&practitioner={injector.pk}"):
        text = client.get(page).content.decode()
        assert sign in text
        assert hint in text
    assert "This visit has to be moved" in client.get(card).content.decode()
    # The words of the leave stand below the visit, which covers its beginning.
    [leave] = [one for one in columns(client.get(DAY))["Ida Injector"].parts if one.is_shade]
    assert (leave.reason, leave.words) == ("Leave", "at-h-0 at-m-6 for-h-0 for-m-0")


def test_a_closed_day_says_why(signed_in, desk, owner, injector):
    make_closure(owner, starts_on=TUESDAY, ends_on=TUESDAY, reason="New floor")
    column = columns(signed_in(desk).get(DAY))["Ida Injector"]
    assert reasons(column) == ["New floor"]
    assert items(column) == []
    page = signed_in(desk).get(DAY).content.decode()
    assert "The clinic is closed: New floor." in page
    assert "Nothing booked yet" not in page


def test_a_room_out_of_order_is_not_offered(signed_in, desk, injector):
    room = make_room("Room 1")
    Absence.objects.create(
        room=room, kind="out_of_order", note="Lamp", starts_at=moment("2026-12-01 00:00"),
        ends_at=moment("2026-12-01 12:00"),
    )  # fmt: skip
    column = columns(signed_in(desk).get(f"{DAY}&by=room"))["Room 1"]
    assert items(column) == ["12:00 free"]
    assert "Out of order: Lamp" in reasons(column)


def test_one_site_shows_who_works_there(signed_in, desk, injector, booked):
    here, there = (Site.objects.create(name=name) for name in ("Harbour", "Larkstone"))
    lea = make_user("lea", is_injector=True)
    for person, site in ((injector, here), (lea, there)):
        WorkingTime.objects.create(
            person=person, site=site, weekday=2, starts=time(9), ends=time(17),
            from_on=date(2026, 1, 1),
        )  # fmt: skip
    client = signed_in(desk)
    assert list(columns(client.get(f"{DAY}&site={there.pk}"))) == ["Lea"]
    assert list(columns(client.get(f"{DAY}&site={here.pk}"))) == ["Ida Injector"]


@pytest.fixture
def at_two_sites(desk, injector, patient):
    """One visit at each of two sites."""
    larkstone = Site.objects.create(name="Larkstone")
    room = make_room("Room 1", site="Harbour")
    make_appointment(desk, make_patient(desk, "Ben Example"), injector, f"{TUESDAY} 13:00",
                     site=larkstone)  # fmt: skip
    return make_appointment(desk, patient, injector, f"{TUESDAY} 10:15", room=room)


def test_where_the_clinic_has_several_sites_a_visit_names_its_own(signed_in, desk, at_two_sites):
    client = signed_in(desk)
    told = placed(columns(client.get(DAY))["Ida Injector"])
    assert [one.where for one in told if not one.is_gap] == ["Room 1, Harbour", "Larkstone"]
    for name in ("diary-visit", "appointment-detail"):
        page = client.get(reverse(name, args=[at_two_sites.pk])).content.decode()
        assert "<dt>Site</dt><dd><bdi>Harbour</bdi></dd>" in page
    sheet = pdf_text(client.get(f"/diary/day-sheet/?day={TUESDAY}").content)
    assert "Harbour" in sheet
    assert "Larkstone" in sheet


def test_where_it_has_one_no_visit_names_it(signed_in, desk, at_two_sites):
    Site.objects.exclude(name="Harbour").update(is_active=False)
    page = signed_in(desk).get(reverse("diary-visit", args=[at_two_sites.pk])).content.decode()
    assert "<dt>Room</dt><dd><bdi>Room 1</bdi></dd>" in page
    assert "<dt>Site</dt>" not in page


def test_rooms_of_several_sites_name_theirs_and_whether_it_is_closed(
    signed_in, desk, injector, at_two_sites
):
    WorkingTime.objects.create(
        person=injector, site=Site.objects.get(name="Harbour"), weekday=2, starts=time(9),
        ends=time(17), from_on=date(2026, 1, 1),
    )  # fmt: skip
    make_room("Room 1", site="Larkstone")
    shown = signed_in(desk).get(f"{DAY}&by=room").context["shown"].board.columns
    rooms = {column.full_title: column for column in shown}
    assert list(rooms) == ["Room 1, Harbour", "Room 1, Larkstone", "No room"]
    assert reasons(rooms["Room 1, Larkstone"]) == ["Nobody works here"]


def test_states_are_told_by_signs_and_words(signed_in, desk, booked):
    note_late(appointment=booked, minutes=15, actor=desk)
    client = signed_in(desk)
    assert "15 min late" in client.get(DAY).content.decode()
    set_state(appointment=booked, state=AppointmentState.ARRIVED, actor=desk)
    assert 'aria-label="Arrived"' in client.get(DAY).content.decode()


def test_a_cancelled_visit_gives_up_its_place_and_is_listed(signed_in, desk, injector, booked):
    set_state(appointment=booked, state=AppointmentState.CANCELLED, actor=desk, reason="Has a cold")
    answer = signed_in(desk).get(DAY)
    assert items(columns(answer)["Ida Injector"]) == ["09:00 free"]
    assert "Has a cold" in answer.content.decode()
    again = f"patient={booked.patient_id}&amp;kind=consultation&amp;practitioner={injector.pk}"
    assert again in answer.content.decode()


def test_an_alert_is_told_but_not_which(signed_in, desk, patient, booked):
    client = signed_in(desk)
    make_alert(desk, patient, "Fainted in May", level="note")
    assert "Alert on the record" not in client.get(DAY).content.decode()
    make_alert(desk, patient, "Lidocaine", level="stop")
    for page in (DAY, reverse("diary-visit", args=[booked.pk])):
        text = client.get(page).content.decode()
        assert "lert on the record" in text
        assert "Lidocaine" not in text


def test_a_column_that_did_not_change_is_not_written_again(
    signed_in, desk, owner, injector, booked
):
    client = signed_in(desk)
    client.get(DAY)
    for someone in (client, signed_in(owner)):
        again = someone.get(DAY)
        assert "diary/_column.html" not in [template.name for template in again.templates]
        assert "10:15" in again.content.decode()


def test_what_changes_no_visit_is_seen_on_its_card_at_once(
    signed_in, desk, injector, patient, booked
):
    client = signed_in(desk)
    assert "Alert on the record" not in client.get(DAY).content.decode()
    make_alert(desk, patient)
    assert "Alert on the record" in client.get(DAY).content.decode()
    Absence.objects.create(
        person=injector,
        starts_at=moment(f"{TUESDAY} 13:00"),
        ends_at=moment(f"{TUESDAY} 14:00"),
        kind="training",
    )
    assert "Training" in client.get(DAY).content.decode()
    injector.full_name = "Ida Example-Injector"
    injector.save()
    assert "Ida Example-Injector" in client.get(DAY).content.decode()


def test_an_empty_day_says_what_to_do(signed_in, desk, injector):
    assert "Press free time to book it" in signed_in(desk).get(DAY).content.decode()


def test_a_clinic_without_injectors_or_rooms_says_so(signed_in, desk):
    client = signed_in(desk)
    assert "Nobody can be booked yet" in client.get(DAY).content.decode()
    assert "No rooms yet" in client.get(f"{DAY}&by=room").content.decode()
    assert "Nobody can be booked yet" in client.get(WEEK).content.decode()


def test_the_day_steps_to_its_neighbours(signed_in, desk):
    page = signed_in(desk).get("/diary/?day=2026-02-28&by=room").content.decode()
    assert "Saturday 28 February 2026" in page
    assert 'href="?day=2026-02-27&amp;by=room"' in page
    assert 'href="?day=2026-03-01&amp;by=room"' in page


@pytest.mark.parametrize("day", ["tomorrow", "2026-02-30", "0001-01-01", "9999-12-31"])
@pytest.mark.parametrize("page", ["/diary/", "/diary/week/"])
def test_a_day_that_is_none_shows_today_and_says_so(signed_in, desk, page, day):
    answer = signed_in(desk).get(page, {"day": day})
    assert answer.context["day"] == timezone.localdate()
    text = answer.content.decode()
    assert "Today is shown." in text
    assert f'value="{day}"' in text


@pytest.mark.parametrize("asked", ["by=chair", "site=99999", "site=x", "practitioner=99999"])
def test_what_is_not_known_is_left_out(signed_in, desk, injector, asked):
    client = signed_in(desk)
    assert client.get(f"{DAY}&{asked}").status_code == 200
    assert client.get(f"{WEEK}&{asked}").status_code == 200


def test_a_week_of_one_person_has_a_column_a_day(signed_in, desk, injector, booked):
    shown = columns(signed_in(desk).get(f"{WEEK}&practitioner={injector.pk}"))
    assert list(shown)[:2] == ["Monday 30 Nov", "Tuesday 1 Dec"]
    assert len(shown) == 7
    assert items(shown["Tuesday 1 Dec"])[1] == "10:15 Ann Example"
    assert items(shown["Monday 30 Nov"]) == ["09:00 free"]


def test_a_week_of_one_room_shows_what_is_in_it(signed_in, desk, injector, booked):
    room = make_room("Room 1")
    make_appointment(desk, make_patient(desk, "Ben Example"), injector, "2026-12-02 13:00",
                     room=room)  # fmt: skip
    shown = columns(signed_in(desk).get(f"{WEEK}&room={room.pk}"))
    assert [items(shown[day]) for day in ("Tuesday 1 Dec", "Wednesday 2 Dec")] == [
        ["09:00 free"], ["09:00 free", "13:00 Ben Example", "13:30 free"],
    ]  # fmt: skip


def test_everybody_s_week_counts_visits_and_free_time(signed_in, desk, injector, booked):
    [row] = signed_in(desk).get(WEEK).context["rows"]
    told = [
        (cell.visits, cell.booked, cell.booked_percent, cell.free, cell.closed)
        for cell in row.cells
    ]
    assert told[:2] == [(0, "", 0, "8 h", ""), (1, "30 min", 6, "7 h 30 min", "")]
    assert told[6] == (0, "", 0, "", "Closed")


def test_the_diary_opens_again_where_it_was_left_that_day(signed_in, desk, clock):
    clock.shift(timedelta(hours=6))
    client = signed_in(desk)
    client.get(f"{DAY}&by=room")
    assert client.get("/diary/").headers["Location"] == "/diary/?day=2026-12-01&by=room"
    client.get(WEEK)
    assert client.get("/diary/").headers["Location"] == "/diary/week/?day=2026-12-01"
    clock.shift(timedelta(hours=9))  # past midnight, still signed in
    assert client.get("/diary/").context["day"] == timezone.localdate()


def test_a_page_that_asks_again_is_told_only_of_changes(signed_in, desk, injector, booked):
    client, asks = signed_in(desk), {"hx-request": "true"}
    first = client.get(DAY, headers=asks)
    assert "<!DOCTYPE" not in first.content.decode()
    asks["if-none-match"] = first.headers["ETag"]
    with CaptureQueriesContext(connection) as asked:
        assert client.get(DAY, headers=asks).status_code == 304
    assert len(asked) == 3  # the session, the person, and the changes
    note_late(appointment=booked, minutes=10, actor=desk)
    assert client.get(DAY, headers=asks).status_code == 200


def test_a_change_on_another_day_is_none(signed_in, desk, injector, patient, booked):
    client, asks = signed_in(desk), {"hx-request": "true"}
    asks["if-none-match"] = client.get(DAY, headers=asks).headers["ETag"]
    make_appointment(desk, make_patient(desk, "Ben Example"), injector, "2026-12-03 10:00")
    assert client.get(DAY, headers=asks).status_code == 304


@pytest.mark.parametrize("whose", ["practitioner", "room"])
def test_a_colleague_s_visit_is_no_change_of_one_s_week(signed_in, desk, injector, whose):
    client, asks = signed_in(desk), {"hx-request": "true"}
    lea, room = make_user("lea", is_injector=True), make_room("Room 1")
    page = f"{WEEK}&{whose}={ {'practitioner': injector, 'room': room}[whose].pk }"
    asks["if-none-match"] = client.get(page, headers=asks).headers["ETag"]
    make_appointment(desk, make_patient(desk, "Ben Example"), lea, f"{TUESDAY} 11:00")
    assert client.get(page, headers=asks).status_code == 304
    make_appointment(
        desk, make_patient(desk, "Cleo Example"), injector, f"{TUESDAY} 11:00", room=room
    )
    changed = client.get(page, headers=asks).content.decode()
    assert "Cleo Example" in changed
    assert "Ben Example" not in changed


@pytest.mark.parametrize("page", [DAY, f"{DAY}&by=room", WEEK, f"{WEEK}&practitioner="])
def test_many_visits_take_as_many_queries_as_one(
    signed_in, desk, injector, booked, django_assert_num_queries, page
):
    client, page = signed_in(desk), page + (str(injector.pk) if page.endswith("=") else "")
    booked.room = room = make_room("Room 1")
    booked.save()
    client.get(page)
    with CaptureQueriesContext(connection) as one:
        client.get(page)
    lea = make_user("lea", is_injector=True)
    for number, person in enumerate([injector, lea, lea]):
        patient = make_patient(desk, f"Ben Example {number}")
        make_alert(desk, patient)
        make_appointment(desk, patient, person, f"{TUESDAY} 1{number + 1}:00", room=room)
    with django_assert_num_queries(len(one)):
        client.get(page)


def test_a_visit_is_shown_with_its_acts_and_the_reading_is_noted(signed_in, desk, patient, booked):
    address = reverse("diary-visit", args=[booked.pk])
    panel = signed_in(desk).get(address, headers={"hx-request": "true"}).content.decode()
    assert "<!DOCTYPE" not in panel
    assert reverse("appointment-cancel", args=[booked.pk]) in panel
    event = AuditEvent.objects.get(action="appointment.read")
    assert (event.actor, event.patient_id) == (desk, patient.pk)


def test_without_a_script_a_visit_is_a_page(signed_in, desk, booked):
    page = signed_in(desk).get(reverse("diary-visit", args=[booked.pk])).content.decode()
    assert f'<a href="{DAY}&amp;by=practitioner">Diary</a>' in page
    assert "data-dialog-close" not in page.partition("<main")[2].partition("</main>")[0]


def test_only_the_practitioner_is_offered_to_start_the_session(signed_in, injector, desk, patient):
    today = make_appointment(desk, patient, injector, f"{timezone.localdate()} 10:00")
    start = f"{reverse('session-start', kwargs={'pk': patient.pk})}?appointment={today.pk}"
    page = reverse("diary-visit", args=[today.pk])
    other = make_user("lea", is_injector=True)
    assert start in signed_in(injector).get(page).content.decode()
    assert start not in signed_in(other).get(page).content.decode()


def test_a_visit_that_was_moved_meanwhile_is_shown_anew(signed_in, desk, injector, booked):
    asked = {
        "seen": f"{TUESDAY}T09:00", "day": TUESDAY, "start": "11:00", "practitioner": injector.pk,
        "minutes": 30,
    }  # fmt: skip
    address = reverse("appointment-move", args=[booked.pk])
    answer = signed_in(desk).post(address, asked, headers={"hx-request": "true"})
    assert answer.status_code == 409
    assert "Show the diary as it is now" in answer.content.decode()


def test_an_unknown_visit_is_not_found(signed_in, desk):
    assert signed_in(desk).get(reverse("diary-visit", args=[99999])).status_code == 404


@pytest.mark.parametrize("name", ["diary", "diary-week", "diary-day-sheet"])
def test_the_diary_is_only_read(signed_in, desk, name):
    assert signed_in(desk).post(reverse(name)).status_code == 405


def test_names_are_shown_as_text(signed_in, desk, injector):
    patient = make_patient(desk, "<b>Bold</b> O'Neil")
    booked = make_appointment(desk, patient, injector, f"{TUESDAY} 10:00", note="<script>")
    client = signed_in(desk)
    for page in (DAY, reverse("diary-visit", args=[booked.pk])):
        shown = client.get(page).content.decode()
        assert "&lt;b&gt;Bold&lt;/b&gt; O&#x27;Neil" in shown
        assert "<script>" not in shown.split("<main", 1)[1].split("</main>")[0]


def test_the_sheet_of_a_day_has_what_the_desk_needs(signed_in, desk, injector, patient, booked):
    patient.phone = "07700 900123"
    patient.save(update_fields=["phone"])
    make_alert(desk, patient, "Lidocaine")
    note_late(appointment=booked, minutes=20, actor=desk)
    gone = make_appointment(desk, make_patient(desk, "Ben Example"), injector, f"{TUESDAY} 12:00")
    set_state(appointment=gone, state=AppointmentState.CANCELLED, actor=desk, reason="Has a cold")
    answer = signed_in(desk).get("/diary/day-sheet/?day=2026-12-01")
    assert answer.headers["Content-Type"] == "application/pdf"
    text = pdf_text(answer.content)
    for word in ("Ida Injector", "10:15", "10:45", "Ann Example", "07700 900123", "Consultation",
                 "20 min late", "Alert on the record"):  # fmt: skip
        assert word in text
    assert "Ben Example" not in text
    assert "Lidocaine" not in text
    event = AuditEvent.objects.get(action="appointment.printed")
    assert (event.actor, event.patient_id) == (desk, patient.pk)


def test_the_sheet_of_one_practitioner_shows_nobody_else(signed_in, desk, injector, booked):
    lea = make_user("lea", is_injector=True)
    answer = signed_in(desk).get(f"/diary/day-sheet/?day=2026-12-01&practitioner={lea.pk}")
    text = pdf_text(answer.content)
    assert "Nothing booked" in text
    assert "Ann Example" not in text
    assert not AuditEvent.objects.filter(action="appointment.printed").exists()


def test_a_sheet_of_no_day_leads_to_where_the_day_is_chosen(signed_in, desk):
    answer = signed_in(desk).get("/diary/day-sheet/?day=2026-02-30")
    assert answer.headers["Location"] == "/diary/?day=2026-02-30"
