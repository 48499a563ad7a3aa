"""Booking an appointment, as people do it."""

from datetime import date, datetime, time, timedelta
from urllib.parse import quote

import pytest
import time_machine
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.visit_kinds.enums import AppointmentKind
from clinic.visit_kinds.models import VisitKind
from clinic.visit_kinds.queries import default_kind
from records.appointments.models import Appointment
from tests.factories import (
    make_appointment,
    make_event,
    make_patient,
    make_room,
    make_user,
    make_working_time,
)

pytestmark = pytest.mark.django_db
CREATE = reverse("appointment-create")
# A weekday to come, whatever the day of the test: the default policy opens Monday to Friday.
OPEN_DAY = next(
    day
    for day in (timezone.localdate() + timedelta(days=count) for count in range(1, 8))
    if day.weekday() < 5
)
CLOSED_DAY = OPEN_DAY + timedelta(days=5 - OPEN_DAY.weekday())  # its Saturday


def booking(injector, **fields) -> dict:
    return {
        "practitioner": injector.pk, "kind": "consultation", "day": OPEN_DAY.isoformat(),
        "start": "10:00", "minutes": "30", "note": "Wants the quiet room", **fields,
    }  # fmt: skip


@pytest.fixture
def address(patient):
    return f"{CREATE}?patient={patient.pk}"


def test_booking_shows_up_on_its_day(signed_in, desk, injector, patient, address):
    answer = signed_in(desk).post(address, booking(injector), follow=True)
    appointment = Appointment.objects.get()
    assert timezone.localtime(appointment.starts_at).strftime("%H:%M") == "10:00"
    assert answer.redirect_chain == [(f"{reverse('diary')}?day={OPEN_DAY}", 302)]
    assert "Ann Example" in answer.content.decode()


def test_a_booking_asks_for_the_clinic_s_days_once(
    signed_in, desk, injector, address, django_assert_max_num_queries
):
    client = signed_in(desk)
    with django_assert_max_num_queries(30) as asked:
        assert client.post(address, booking(injector)).status_code == 302
    policy = [one for one in asked if 'FROM "clinic_clinicpolicy"' in one["sql"]]
    assert len(policy) == 1


def test_a_time_that_is_taken_is_refused_and_what_was_typed_stays(
    signed_in, desk, injector, address
):
    make_appointment(desk, make_patient(desk, "Ben Example"), injector, f"{OPEN_DAY} 10:15")
    answer = signed_in(desk).post(address, booking(injector))
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Ida Injector has another appointment from 10:15 to 10:45." in page
    assert 'value="Wants the quiet room"' in page
    assert 'value="10:00"' in page
    assert Appointment.objects.count() == 1


def test_a_closed_day_is_asked_about_once(signed_in, desk, injector, address):
    client = signed_in(desk)
    answer = client.post(address, booking(injector, day=CLOSED_DAY.isoformat()))
    assert answer.status_code == 422
    assert "The clinic is closed on Saturday" in answer.content.decode()
    assert not Appointment.objects.exists()
    fields = booking(injector, day=CLOSED_DAY.isoformat(), confirmed=CLOSED_DAY.isoformat())
    assert client.post(address, fields).status_code == 302
    assert Appointment.objects.count() == 1


def test_a_time_outside_of_working_hours_is_asked_about_once(signed_in, desk, injector, address):
    client = signed_in(desk)
    answer = client.post(address, booking(injector, start="22:00", minutes="60"))
    assert answer.status_code == 422
    assert "Ida Injector: Not at work" in answer.content.decode()
    asked = answer.context["form"].to_confirm
    # The tick does not count for another time.
    other = booking(injector, start="23:30", minutes="60", confirmed=asked)
    assert "end after midnight" in client.post(address, other).content.decode()
    assert not Appointment.objects.exists()
    same = booking(injector, start="22:00", minutes="60", confirmed=asked)
    assert client.post(address, same).status_code == 302


def test_a_tick_for_one_day_does_not_count_for_another(signed_in, desk, injector, address):
    other = CLOSED_DAY + timedelta(days=1)
    fields = booking(injector, day=other.isoformat(), confirmed=CLOSED_DAY.isoformat())
    assert signed_in(desk).post(address, fields).status_code == 422


@pytest.mark.parametrize(
    ("fields", "problem"),
    [
        ({"practitioner": "", "start": "20:00"}, "Nobody is free then. Choose who it is with."),
        ({"day": ""}, "Choose a day, or one of the times that fit."),
        ({"start": ""}, "Choose a time, or one of the times that fit."),
        ({"start": "10:02"}, "Times lie on 5 minutes, such as 10:15."),
        ({"slot": "2026-13-01T10:00|1|"}, "That time is no longer offered."),
        ({"slot": "2026-12-01T10:00|999999|"}, "That time is no longer offered."),
        ({"slot": "<b>"}, "That time is no longer offered."),
        ({"day": "soon"}, "Type the day as"),
        ({"day": "0001-01-01"}, "Type a year from 1900 to 2999"),
        ({"start": "25:00"}, "Enter a valid time"),
        ({"minutes": "31"}, "Select a valid choice"),
        ({"kind": "nap"}, "Select a valid choice"),
        # The hour that the spring clock change leaves out (Europe/London, 28 March 2027).
        ({"day": "2027-03-28", "start": "01:30"}, "The clocks change in that hour"),
        # ... and the one that the autumn change brings twice (31 October 2027).
        ({"day": "2027-10-31", "start": "01:30"}, "The clocks change in that hour"),
    ],
)
def test_bad_input_is_explained_and_the_rest_stays(
    signed_in, desk, injector, address, fields, problem
):
    answer = signed_in(desk).post(address, booking(injector, **fields))
    page = answer.content.decode()
    assert answer.status_code == 422
    assert problem in page
    assert 'value="Wants the quiet room"' in page
    assert not Appointment.objects.exists()


def test_only_injectors_who_work_here_can_be_booked(signed_in, desk, owner, address):
    gone = make_user("gone", is_injector=True, is_active=False)
    for person in (owner, gone):
        answer = signed_in(desk).post(address, booking(person))
        assert "That person does not see patients now." in answer.content.decode()


def test_a_young_patient_is_pointed_out_and_can_be_booked(signed_in, desk, injector):
    born = OPEN_DAY.replace(year=OPEN_DAY.year - 16, day=1)
    patient = make_patient(desk, "Cleo Example", birth_date=born)
    client, address = signed_in(desk), f"{CREATE}?patient={patient.pk}"
    page = client.get(address).content.decode()
    assert "the clinic treats from 18" in page
    assert "Source: Clinic policy: minimum age 18 years" in page
    assert client.post(address, booking(injector)).status_code == 302


def test_without_a_patient_one_is_chosen_first(signed_in, desk, patient):
    make_patient(desk, "Ben Sample")
    client = signed_in(desk)
    assert "who is it for?" in client.get(CREATE).content.decode()
    page = client.post(f"{CREATE}?day=2026-12-01", {"q": "exam"}, follow=True).content.decode()
    assert f'href="?day=2026-12-01&amp;patient={patient.pk}"' in page
    assert "Ben Sample" not in page
    page = client.post(CREATE, {"q": "zzz"}, follow=True).content.decode()
    assert "No patient found" in page
    assert f'href="{reverse("patient-create")}"' in page


def test_going_back_to_whom_was_found_asks_nothing_of_the_browser(signed_in, desk, patient):
    """The hits stand at an address that a GET answers; it holds no name, for logs keep it."""
    client = signed_in(desk)
    answer = client.post(f"{CREATE}?day=2026-12-01", {"q": "Exam"})
    hits = answer.headers["Location"]
    assert (answer.status_code, hits) == (302, f"{CREATE}?day=2026-12-01&found=")
    assert 'value="Exam"' in client.get(hits).content.decode()
    assert 'value="Exam"' not in client.get(CREATE).content.decode()


def test_whom_to_book_for_is_found_as_one_types(signed_in, desk, patient):
    make_patient(desk, "Ben Sample")
    answer = signed_in(desk).post(
        f"{CREATE}?day=2026-12-01", {"q": "exam"}, headers={"hx-request": "true"}
    )
    page = answer.content.decode()
    assert (answer.status_code, "<html" in page) == (200, False)
    assert f'href="?day=2026-12-01&amp;patient={patient.pk}"' in page
    assert "Ben Sample" not in page


@pytest.mark.parametrize("typed", ["x" * 5000, "\x00", "<script>alert(1)</script>"])
def test_a_search_survives_what_is_no_name(signed_in, desk, patient, typed):
    answer = signed_in(desk).post(CREATE, {"q": typed}, follow=True)
    assert answer.status_code == 200
    assert "<script>alert" not in answer.content.decode()


@pytest.mark.parametrize("named", ["99999", "abc", "-1"])
def test_an_unknown_patient_leads_to_choosing_one(signed_in, desk, named):
    page = signed_in(desk).get(f"{CREATE}?patient={named}").content.decode()
    assert "who is it for?" in page


def test_a_review_is_booked_on_its_own_page(signed_in, desk):
    answer = signed_in(desk).get(f"{CREATE}?review=7")
    assert answer.headers["Location"] == "/reviews/7/book/"


def test_another_site_is_no_way_back(signed_in, desk, injector, address):
    for elsewhere in ("https://else.test/", "//else.test/", "/\\else.test"):
        answer = signed_in(desk).post(address, booking(injector, next=elsewhere))
        assert answer.headers["Location"].startswith("/diary/?day=")
        Appointment.objects.all().delete()


def test_the_answer_to_a_booking_names_the_year(signed_in, desk, injector, address):
    day = date(timezone.localdate().year + 1, 12, 30)
    fields = booking(injector, day=day.isoformat(), confirmed=day.isoformat())
    answer = signed_in(desk).post(address, fields, follow=True)
    (said,) = answer.context["messages"]
    when = f"{day:%A} 30 December {day.year} at 10:00"
    assert str(said) == f"Ann Example (P000001) is booked for {when} with Ida Injector."


@pytest.mark.parametrize("number", ["-5", "0", "9" * 30, "x"])
def test_a_review_that_cannot_be_is_no_fault_of_the_server(signed_in, desk, address, number):
    answer = signed_in(desk).get(f"{address}&review={number}", follow=True)
    assert answer.status_code in (200, 404)


def test_a_room_at_another_site_than_the_practitioner_is_asked_about(
    signed_in, desk, injector, address
):
    make_working_time(injector, make_room().site, weekday=OPEN_DAY.isoweekday())
    elsewhere = make_room(site="Harbour")
    answer = signed_in(desk).post(address, booking(injector, room=elsewhere.pk))
    assert answer.status_code == 422
    assert "Ida Injector is at Larkstone then, not at Harbour" in answer.content.decode()


def test_a_time_of_today_that_has_passed_is_asked_about(signed_in, desk, injector, address):
    """As one is that was offered on a page left open since the morning."""
    noon = datetime.combine(OPEN_DAY, time(12), tzinfo=timezone.get_current_timezone())
    with time_machine.travel(noon, tick=False):
        answer = signed_in(desk).post(
            address, booking(injector, slot=f"{OPEN_DAY}T10:00|{injector.pk}|")
        )
        assert answer.status_code == 422
        assert "That time has passed" in answer.content.decode()
        under_way = booking(injector, start="11:45")
        assert signed_in(desk).post(address, under_way).status_code == 302


def test_a_chosen_time_stays_though_another_kind_needs_a_room(signed_in, desk, injector, patient):
    room = make_room()
    VisitKind.objects.create(kind="treatment", minutes=30).rooms.add(room)
    client, times = signed_in(desk), reverse("appointment-times")
    asked = {"patient": patient.pk, "practitioner": injector.pk}
    fit = client.get(times, asked | {"kind": "call"}).context["days"][0].fits[2]
    answer = client.get(times, asked | {"kind": "treatment", "slot": fit.value})
    assert answer.context["chosen"] == f"{fit.value}{room.pk}"


def test_whoever_is_free_is_found_for_a_time_of_one_s_own(signed_in, desk, injector, address):
    lea = make_user("lea", is_injector=True)
    make_appointment(desk, make_patient(desk, "Ben Example"), injector, f"{OPEN_DAY} 10:05")
    client = signed_in(desk)
    assert client.post(address, booking(injector, practitioner="")).status_code == 302
    assert Appointment.objects.get(patient__full_name="Ann Example").practitioner == lea


def test_a_lost_time_is_given_up_for_nothing_that_was_not_chosen(
    signed_in, desk, injector, address
):
    make_appointment(desk, make_patient(desk, "Ben Example"), injector, f"{OPEN_DAY} 10:15")
    answer = signed_in(desk).post(address, booking(injector))
    assert answer.context["chosen"] == ""
    assert len(answer.context["alternatives"]) == 3


def test_a_room_that_went_out_of_use_is_no_longer_offered(signed_in, desk, injector, address):
    room = make_room()
    room.is_active = False
    room.save()
    slot = f"{OPEN_DAY}T10:00|{injector.pk}|{room.pk}"
    page = signed_in(desk).post(address, booking(injector, slot=slot)).content.decode()
    assert "That time is no longer offered." in page


def test_kinds_that_the_clinic_does_not_offer_are_left_out(signed_in, desk, address):
    default_kind(AppointmentKind.CALL).save()
    default_kind(AppointmentKind.CONSULTATION).save()
    VisitKind.objects.update(is_active=False)
    client = signed_in(desk)

    def kinds(address):
        return [key for key, _ in client.get(address).context["form"].fields["kind"].choices]

    assert kinds(address) == ["treatment", "review", "top_up", "complication_check"]
    assert kinds(f"{address}&kind=call")[-1] == "call"


@pytest.mark.parametrize("chosen", ["own", "second"])
def test_the_chosen_time_stays_when_the_times_are_looked_up_anew(
    signed_in, desk, injector, patient, chosen
):
    """Else a length changed afterwards would book the first time instead, unseen."""
    client, times = signed_in(desk), reverse("appointment-times")
    asked = {"patient": patient.pk, "kind": "consultation"}
    # Fewer times are shown than fit: the second of a longer visit is none of them.
    longer = client.get(times, asked | {"minutes": "240"})
    second = longer.context["days"][0].fits[1].value
    slot = second if chosen == "second" else chosen
    answer = client.get(times, asked | {"slot": slot})
    assert answer.context["chosen"] == slot
    gone = client.get(times, asked | {"slot": "2020-01-01T10:00|1|"})
    assert gone.context["chosen"] == ""
    assert "The time you chose no longer fits" in gone.content.decode()
    page = client.get(CREATE, {"patient": patient.pk}).content.decode()
    assert "[name=slot]:checked" in page


def test_what_booking_reads_of_the_record_is_in_the_trail(signed_in, desk, patient, address):
    client, reads = signed_in(desk), AuditEvent.objects.filter(action="booking.read")
    client.get(address)
    client.get(reverse("appointment-times"), {"patient": patient.pk})
    assert [event.patient_id for event in reads] == [patient.pk] * 2


@pytest.mark.parametrize("days", [0, 200])
def test_times_are_looked_for_from_the_day_that_is_asked_however_far(
    signed_in, desk, injector, patient, days
):
    first = OPEN_DAY + timedelta(days=days)
    asked = {"patient": patient.pk, "look_from": first.isoformat()}
    found = signed_in(desk).get(reverse("appointment-times"), asked).context["days"]
    assert found[0].day >= first
    last = signed_in(desk).get(reverse("appointment-times"), asked | {"look_from": "2999-12-31"})
    assert last.status_code == 200


def test_a_time_that_the_page_chose_gives_way_to_the_first_that_fits(
    signed_in, desk, injector, patient
):
    """Nobody chose it, so nothing is lost when a longer visit does not fit there."""
    client, times = signed_in(desk), reverse("appointment-times")
    asked = {"patient": patient.pk, "kind": "consultation"}
    gone = f"{OPEN_DAY}T08:00|{injector.pk}|"
    answer = client.get(times, asked | {"slot": gone, "offered": gone})
    first = answer.context["days"][0].fits[0].value
    assert (answer.context["chosen"], answer.context["offered"]) == (first, first)
    assert "no longer fits" not in answer.content.decode()


# What is known before one books


def test_an_injector_books_for_themself_first_and_comes_back_to_the_patient(
    signed_in, desk, injector, patient
):
    make_user("ada", is_injector=True)
    record = reverse("patient-detail", args=[patient.pk])
    client = signed_in(injector)
    address = f"{CREATE}?patient={patient.pk}&next={quote(record, safe='')}"
    assert address.replace("&", "&amp;") in client.get(record).content.decode()
    page = client.get(address)
    assert page.context["form"]["practitioner"].value() == injector.pk
    assert {fit.practitioner for one in page.context["days"] for fit in one.fits} == {injector}
    chosen = {"kind": "consultation", "slot": page.context["chosen"], "next": record}
    assert client.post(address, chosen).headers["Location"] == record
    assert Appointment.objects.get().practitioner == injector


def test_the_desk_books_with_whoever_is_free(signed_in, desk, address):
    page = signed_in(desk).get(address)
    assert page.context["form"]["practitioner"].value() is None


def test_the_visits_that_the_patient_has_already_are_shown(
    signed_in, desk, injector, patient, address
):
    made = make_appointment(desk, patient, injector, f"{OPEN_DAY} 09:15")
    make_appointment(desk, patient, injector, f"{timezone.localdate() - timedelta(days=1)} 09:15")
    page = signed_in(desk).get(address)
    assert list(page.context["has_visits"]) == [made]
    assert "Booked already" in page.content.decode()
    assert reverse("appointment-detail", args=[made.pk]) in page.content.decode()


def test_what_is_open_is_shown_to_the_injector_and_the_desk_asks(
    signed_in, desk, injector, patient, address
):
    event = make_event(injector, patient)
    asks = "Ask the injector before you book"
    page = signed_in(injector).get(address).content.decode()
    assert (reverse("adverse-event-detail", args=[event.pk]) in page, asks in page) == (True, False)
    page = signed_in(desk).get(address).content.decode()
    assert ("Adverse event" in page, asks in page) == (False, True)


def test_a_walk_in_is_at_hand_for_the_injector_as_for_the_desk(signed_in, injector):
    assert f"{CREATE}?walk_in=on" in signed_in(injector).get(reverse("diary")).content.decode()


def test_the_times_of_a_day_that_were_left_out_can_be_seen(signed_in, desk, injector, patient):
    asked = {"patient": patient.pk, "kind": "consultation", "look_from": OPEN_DAY.isoformat()}
    client, address = signed_in(desk), reverse("appointment-times")
    few = client.get(address, asked)
    day = few.context["days"][0]
    assert day.more > 0
    assert f"?whole={day.day}" in few.content.decode()
    every, other = client.get(address, asked | {"whole": day.day}).context["days"][:2]
    assert (every.day, every.more, len(every.fits)) == (day.day, 0, len(day.fits) + day.more)
    assert other == few.context["days"][1]
