"""The start page: each role's part, and all parts for whoever holds all roles."""

from datetime import timedelta

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.background.presence import note_seen
from clinic.counts.enums import CountScope
from clinic.counts.services.counting import give_up, start_count
from clinic.fridges.services import decide_excursion, log_reading
from clinic.policy.queries import current_policy
from clinic.policy.services import save_policy
from clinic.quarantine.services import quarantine_lot
from clinic.stock.enums import MovementKind
from clinic.stock.models import Lot
from clinic.stock.services import lock_unit, move_unit, take_out_of_stock
from records.appointments.enums import AppointmentState
from records.appointments.models import Appointment, start_of
from records.appointments.services.states import set_state
from records.demo.clock import clock_at
from records.reminders.enums import AnswerKind, MessageState
from records.reminders.models import ReminderPolicy
from records.reviews.models import ReviewAsk
from tests.factories import (
    make_alert,
    make_appointment,
    make_event,
    make_fridge,
    make_patient,
    make_product,
    make_review,
    make_rule,
    make_session,
    make_session_with_unit,
    make_units,
    make_user,
)
from tests.records.follow_up.conftest import make_answer, make_message

pytestmark = pytest.mark.django_db
TODAY = timezone.localdate()
STOCK = reverse("stock-list")
EARLY = start_of(TODAY) + timedelta(hours=6)


def page_of(client) -> str:
    return client.get("/").content.decode()


@pytest.fixture
def busy_day(desk, injector, owner, patient):
    """Something in every part of the page."""
    other = make_user("lea", is_injector=True)
    make_appointment(desk, patient, injector, f"{TODAY} 10:00")
    make_appointment(desk, make_patient(desk, "Ben Example"), other, f"{TODAY} 10:00")
    make_appointment(desk, patient, injector, f"{TODAY + timedelta(days=1)} 10:00")
    make_review(injector, make_patient(desk, "Cleo Example"), TODAY - timedelta(days=8))
    make_review(other, make_patient(desk, "Dan Example"), TODAY)
    make_session(injector, make_patient(desk, "Eve Example"))
    make_session(other, make_patient(desk, "Finn Example"))


@time_machine.travel(EARLY, tick=False)
@pytest.mark.usefixtures("busy_day")
def test_the_front_desk_sees_who_comes_and_whom_to_call(signed_in, desk):
    answer = signed_in(desk).get("/")
    page = answer.content.decode()
    parts = answer.context["desk"].parts
    assert [row.patient.full_name for row in parts.soon] == ["Ann Example", "Ben Example"]
    assert {tile.label: tile.value for tile in answer.context["desk_tiles"]} == {
        "Here": 0, "Late": 0, "Still expected": 2, "Follow-up overdue": 1,
        "Follow-up due": 1,
    }  # fmt: skip
    assert ("Cleo Example" in page, "Dan Example" in page) == (True, True)
    assert reverse("patient-create") in page
    assert ("Eve Example" in page, "Waiting for your signature" in page) == (False, False)
    assert "To look into" not in page


@pytest.mark.usefixtures("busy_day")
def test_an_injector_sees_an_own_list_and_nobody_else_s(signed_in, injector):
    client, yesterday = signed_in(injector), timezone.now() - timedelta(days=1)
    make_session(
        injector,
        make_patient(injector, "Gus Example"),
        started_at=yesterday,
        late_reason="Power cut",
    )
    answer = client.get("/")
    page = answer.content.decode()
    own = answer.context["injector"]
    assert [row.patient.full_name for row in own.appointments] == ["Ann Example"]
    assert [session.patient.full_name for session in own.unsigned] == ["Gus Example"], (
        "today's without a point has only begun"
    )
    assert [row.person.name for row in own.follow_up.rows] == ["Cleo Example"]
    assert "Start session" in page
    for name in ("Ben Example", "Dan Example", "Finn Example", "Register patient"):
        assert name not in page


def test_the_desk_s_day_is_parted_by_what_to_do(signed_in, desk, injector):
    """At ten: who is here, who is late, who comes next, and what is over."""
    names = {"Done": 8, "Late": 9, "Called": 9, "Waits": 9, "Door": 10, "Next": 11, "Far": 12}
    made = {}
    for number, (name, hour) in enumerate(names.items()):
        with clock_at(EARLY):
            made[name] = make_appointment(
                desk, make_patient(desk, name), make_user(f"i{number}", is_injector=True),
                f"{TODAY} {hour:02}:00",
            )  # fmt: skip
    with time_machine.travel(start_of(TODAY) + timedelta(hours=10), tick=False):
        for name, *states in [("Done", "arrived", "done"), ("Waits", "arrived")]:
            for state in states:
                set_state(appointment=made[name], state=AppointmentState(state), actor=desk)
        Appointment.objects.filter(pk=made["Called"].pk).update(late_minutes=70)
        answer = signed_in(desk).get("/")
    parts = answer.context["desk"].parts
    assert {part: [str(row.patient) for row in getattr(parts, part)] for part in
            ("here", "late", "soon", "later", "over")} == {
        "here": ["Waits"], "late": ["Late"], "soon": ["Called", "Door", "Next", "Far"],
        "later": [], "over": ["Done"],
    }  # fmt: skip
    assert '<span class="table__sub">1\xa0hour</span>' in answer.content.decode()


def test_of_a_long_day_the_diary_shows_the_rest(signed_in, desk, injector, patient):
    """Six o'clock, and 26 visits to come: four as next, ten as later, twelve in the diary."""
    Appointment.objects.bulk_create(
        Appointment(
            patient=patient, practitioner=injector, minutes=5, kind="call",
            starts_at=EARLY + timedelta(minutes=5 * number),
        )
        for number in range(1, 27)
    )  # fmt: skip
    with time_machine.travel(EARLY, tick=False):
        page = page_of(signed_in(desk))
    assert page.count(f'href="{reverse("patient-detail", args=[patient.pk])}"') == 14
    assert "22 more later today" in page
    assert f'And 12 after them: <a href="{reverse("appointment-list")}">the whole day</a>' in page


def test_the_desk_is_asked_what_became_of_visits_that_passed(signed_in, desk, injector, patient):
    yesterday = TODAY - timedelta(days=1)
    with clock_at(start_of(yesterday)):
        make_appointment(desk, patient, injector, f"{yesterday} 10:00")
    (notice,) = signed_in(desk).get("/").context["desk_notices"]
    assert notice.text.startswith("Say what became of 1 visit of earlier days, the first of ")
    assert notice.url == f"{reverse('appointment-list')}?day={yesterday}"


def test_an_injector_sees_whom_to_turn_to_and_the_loud_alerts(signed_in, desk, injector, patient):
    make_alert(desk, patient, level="stop", text="Anaphylaxis to lidocaine")
    make_alert(desk, patient, level="note", text="Prefers mornings")
    with clock_at(EARLY):
        make_appointment(desk, make_patient(desk, "Ben Example"), injector, f"{TODAY} 09:00")
        waits = make_appointment(desk, patient, injector, f"{TODAY} 11:00")
    with time_machine.travel(EARLY, tick=False):
        set_state(appointment=waits, state=AppointmentState.ARRIVED, actor=desk)
        page = page_of(signed_in(injector))
    head = page[page.index("Waiting for you") : page.index("Your list")]
    assert ("Ann Example" in head, "Anaphylaxis to lidocaine" in head) == (True, True)
    assert "Prefers mornings" not in head
    assert AuditEvent.objects.filter(action="read.alerts", patient_id=patient.pk).count() == 1


def test_whoever_waits_is_named_beside_the_one_in_the_room_since_the_arrival(
    signed_in, desk, injector, patient
):
    """Booked for six, eight and nine; they come at ten; a quarter later one is in the room."""
    with clock_at(EARLY):
        made = [
            make_appointment(desk, one, injector, f"{TODAY} {hour}:00")
            for one, hour in [
                (patient, "06"), (make_patient(desk, "Ben Example"), "08"),
                (make_patient(desk, "Cleo Example"), "09"),
            ]
        ]  # fmt: skip
    ten = start_of(TODAY) + timedelta(hours=10)
    with time_machine.travel(ten, tick=False) as clock:
        for one in made:
            set_state(appointment=one, state=AppointmentState.ARRIVED, actor=desk)
        clock.shift(timedelta(minutes=15))
        set_state(appointment=made[0], state=AppointmentState.IN_ROOM, actor=desk)
        page = page_of(signed_in(injector))
    head = page[page.index("In the room") : page.index("Your list")]
    assert "here since 10:00" in head
    assert "4\xa0hours" not in head
    for name in ("Ben Example", "Cleo Example"):
        assert name in head
    assert head.count("waiting for 15\xa0minutes") == 2


def test_an_arrival_is_said_can_be_taken_back_and_leaves_the_page_at_its_row(
    signed_in, desk, injector, patient
):
    with clock_at(EARLY):
        visit = make_appointment(desk, patient, injector, f"{TODAY} 09:00")
    client = signed_in(desk)
    row = f"/#desk-{visit.pk}"
    with time_machine.travel(EARLY, tick=False):
        page = page_of(client)
        assert f'id="desk-{visit.pk}"' in page
        assert f'name="next" value="{row}"' in page
        address = reverse("appointment-arrived", args=[visit.pk])
        answer = client.post(address, {"next": row})
        assert answer.url == row
        page = page_of(client)
    assert "has arrived." in page
    assert reverse("appointment-not-arrived", args=[visit.pk]) in page


def test_an_injector_sees_what_fridges_and_counts_ask_for(signed_in, injector):
    with clock_at(timezone.now() - timedelta(hours=25)):
        log_reading(place=make_fridge("Fridge 1"), temperature=50, actor=injector)
    notices = signed_in(injector).get("/").context["injector_notices"]
    assert [notice.text for notice in notices] == ["No reading for more than 24 hours: Fridge 1"]


def test_an_injector_s_empty_day_names_the_next_visit(signed_in, desk, injector, patient):
    day = TODAY + timedelta(days=3)
    make_appointment(desk, patient, injector, f"{day} 10:00")
    assert f"Your next visit is on {day:%A %-d %B} at 10:00" in page_of(signed_in(injector))


def test_a_session_that_was_started_is_continued(signed_in, desk, injector, patient):
    appointment = make_appointment(desk, patient, injector, f"{TODAY} 10:00")
    session = make_session(injector, patient, appointment=appointment)
    page = page_of(signed_in(injector))
    assert "Continue session" in page
    assert "Start session" not in page
    assert reverse("session-detail", kwargs={"pk": session.pk}) in page


def test_the_owner_sees_what_to_look_into(signed_in, desk, injector, owner, patient):
    product = make_product()
    day_before, last_day = TODAY - timedelta(days=1), TODAY + timedelta(days=60)
    make_units(owner, product, number="EXPIRED", expires_on=day_before)
    make_units(owner, product, number="TODAY", expires_on=TODAY)
    make_units(owner, product, number="SOON", expires_on=last_day)
    make_units(owner, product, number="LATER", expires_on=last_day + timedelta(days=1))
    bad = make_units(owner, product, number="BAD", expires_on=last_day + timedelta(days=9))[0].lot
    quarantine_lot(lot=bad, reason="Letter from the maker", actor=owner)
    late = timezone.now() - timedelta(days=1)
    make_session(injector, patient, started_at=late, late_reason="Tablet was flat")
    make_session(injector, make_patient(desk, "Ben Example"))
    make_review(injector, patient, TODAY - timedelta(days=8))
    make_review(injector, patient, TODAY - timedelta(days=7))
    answer = signed_in(owner).get("/")
    assert {tile.label: (tile.value, tile.state) for tile in answer.context["tiles"]} == {
        "Expired lots": (1, "stop"),
        "Lots expiring": (2, "caution"),
        "Quarantined lots": (1, "stop"),
        "Unsigned sessions": (1, "caution"),
        "Follow-up overdue": (1, "stop"),
    }
    assert "Register patient" not in answer.content.decode()


def test_what_is_overdue_is_counted_as_the_page_of_the_tile_shows_it(
    signed_in, owner, injector, desk, patient
):
    """A review that an open adverse event asks for comes first, and is not among the overdue."""
    for name in ("Ben Example", "Cleo Example"):
        make_review(injector, make_patient(desk, name), TODAY - timedelta(days=8))
    check = make_review(injector, patient, TODAY - timedelta(days=8))
    event = make_event(injector, patient)
    ReviewAsk.objects.create(review=check, session=check.session, event=event, rule=make_rule())
    client = signed_in(owner)
    [tile] = [one for one in client.get("/").context["tiles"] if one.label == "Follow-up overdue"]
    assert (tile.value, tile.note) == (2, "1 more to come first")
    assert client.get(tile.url).context["page_obj"].paginator.count == tile.value


def test_the_owner_s_lots_are_those_that_the_stock_page_shows(signed_in, owner, injector, patient):
    """An opened syringe that is kept counts on both pages, and each count leads to its lots."""
    units = make_units(owner, make_product(), number="KEPT", quantity=1)
    make_session_with_unit(injector, patient, units[0])
    Lot.objects.update(expires_on=TODAY - timedelta(days=1))
    client = signed_in(owner)
    tiles = {tile.label: tile for tile in client.get("/").context["tiles"]}
    assert tiles["Expired lots"].value == 1
    assert "opened only" in page_of(client)
    for label in ("Expired lots", "Lots expiring", "Quarantined lots"):
        assert len(client.get(tiles[label].url).context["rows"]) == tiles[label].value


def test_what_waits_in_the_stock_is_a_line_each_and_only_while_it_waits(signed_in, owner, injector):
    client = signed_in(owner)
    assert client.get("/").context["notices"] == []
    fridge, calm = make_fridge("Fridge 1"), make_fridge("Fridge 2")
    log_reading(place=calm, temperature=50, actor=injector)
    with clock_at(timezone.now() - timedelta(hours=25)):
        reading = log_reading(place=fridge, temperature=90, done="Closed", actor=injector)
    product = make_product(lead_time_days=3)
    soon = TODAY + timedelta(days=14)
    (unit,) = make_units(owner, product, quantity=1, expires_on=soon)
    move_unit(lock_unit(unit.pk), MovementKind.OPENED, amount=1000, actor=injector)
    count = start_count(scope=CountScope.PLACE, place=fridge, actor=injector)
    notices = {notice.text: notice.url for notice in client.get("/").context["notices"]}
    assert notices == {
        "Out of range, and not decided yet: Fridge 1": reverse("fridge-list"),
        "No reading for more than 24 hours: Fridge 1": reverse("fridge-list"),
        "Within 14 days: 1 lot with something left to expire": f"{STOCK}?show=urgent",
        "To order now: 1 product": reverse("reorder"),
        f"Count not posted yet: Riverside, Fridge 1, started {TODAY:%-d %b %Y}": reverse(
            "count-detail", kwargs={"pk": count.pk}
        ),
    }
    page = page_of(client)
    assert all(f'href="{url}"' in page for url in notices.values())
    assert [len(client.get(f"{STOCK}?show=urgent").context["rows"])] == [1]
    decide_excursion(first=reading, last=reading, decision="May be used", actor=owner)
    log_reading(place=fridge, temperature=50, actor=injector)
    give_up(count=count, reason="Fire alarm", actor=owner)
    assert [notice.text[:8] for notice in client.get("/").context["notices"]] == [
        "Within 1", "To order",
    ]  # fmt: skip


@pytest.mark.usefixtures("busy_day")
def test_the_owner_sees_who_has_not_signed_and_since_when(signed_in, owner):
    answer = signed_in(owner).get("/")
    rows = answer.context["owner"].unsigned
    assert [(row.injector.full_name, row.patient.full_name) for row in rows] == [
        ("Ida Injector", "Eve Example"), ("Lea", "Finn Example"),
    ]  # fmt: skip
    page = answer.content.decode()
    assert f"since {timezone.localtime(rows[0].started_at):%a} " in page
    assert all(reverse("session-detail", kwargs={"pk": row.pk}) in page for row in rows)


def test_the_owner_sees_the_earliest_expiries_of_what_is_left(signed_in, owner):
    product = make_product()
    for days in (50, -3, 10, 90, 70, 30):
        number = f"IN{days}"
        make_units(owner, product, number=number, expires_on=TODAY + timedelta(days=days))
    used = make_units(owner, product, number="USED", expires_on=TODAY, quantity=1)[0]
    take_out_of_stock(unit=used, kind=MovementKind.RETURNED, reason="Recall", actor=owner)
    answer = signed_in(owner).get("/")
    rows = answer.context["owner"].expiries
    assert [row.lot.number for row in rows] == ["IN-3", "IN10", "IN30", "IN50", "IN70"]
    assert [(row.is_expired, row.expires_soon) for row in rows[:2]] == [
        (True, False),
        (False, True),
    ]
    assert rows[0].stock.on_hand == 2


def test_the_owner_sees_the_last_deliveries_a_second_one_of_a_lot_too(signed_in, owner):
    product = make_product("Soft filler")
    for number, quantity in [("A", 1), ("B", 2), ("C", 3), ("D", 4), ("E", 5), ("A", 6)]:
        make_units(owner, product, number=number, quantity=quantity)
    rows = signed_in(owner).get("/").context["owner"].deliveries
    assert [(row.number, row.quantity) for row in rows] == [
        ("A", 6), ("E", 5), ("D", 4), ("C", 3), ("B", 2),
    ]  # fmt: skip
    assert {row.product for row in rows} == {"Soft filler"}


def test_the_owner_s_panels_are_not_for_others(signed_in, injector, desk, owner):
    make_units(owner, make_product())
    for person in (injector, desk):
        assert "Recent deliveries" not in page_of(signed_in(person))
    page = page_of(signed_in(owner))
    assert "Recent deliveries" in page
    assert "Unsigned sessions, the oldest first" not in page, "nothing waits"


def test_an_empty_clinic_has_nothing_to_worry_about(signed_in, owner):
    tiles = signed_in(owner).get("/").context["tiles"]
    assert {(tile.value, tile.state) for tile in tiles} == {(0, "")}


def test_a_new_clinic_is_led_through_its_first_steps(signed_in, owner):
    """From `createsuperuser` to the first lot: each step is offered until all are done."""
    client = signed_in(owner)

    def steps() -> dict[str, str]:
        return {step.url: step.state for step in client.get("/").context["first_steps"]}

    urls = [reverse(name) for name in ("policy-edit", "staff-create", "product-create")]
    urls.append(reverse("receiving"))
    assert steps() == dict(zip(urls, ["current", "todo", "todo", "todo"], strict=True))
    assert all(f'href="{url}"' in page_of(client) for url in urls)
    save_policy(policy=current_policy(), actor=owner)
    make_user("ida", is_injector=True)
    assert steps() == dict(zip(urls, ["done", "done", "current", "todo"], strict=True))
    make_units(owner, make_product())
    assert steps() == {}
    assert "First steps" not in page_of(client)


def test_first_steps_are_the_owner_s_alone(signed_in, injector, desk):
    for person in (injector, desk):
        assert "First steps" not in page_of(signed_in(person))


@pytest.mark.usefixtures("busy_day")
def test_whoever_holds_all_roles_sees_all_parts(signed_in):
    everything = make_user("all", is_front_desk=True, is_injector=True, is_owner=True)
    page = page_of(signed_in(everything))
    for part in ("Follow-up now", "Your follow-up", "Your list", "To look into"):
        assert part in page


def test_an_empty_day_says_so(signed_in, desk, injector):
    assert "Nothing booked today" in page_of(signed_in(desk))
    assert "Nobody is booked with you today" in page_of(signed_in(injector))


def test_a_booked_review_is_counted_out(signed_in, desk, injector, patient):
    review = make_review(injector, patient, TODAY)
    review.appointment = make_appointment(desk, patient, injector, f"{TODAY} 10:00")
    review.save(update_fields=["appointment"])
    due = signed_in(desk).get("/").context["desk"].follow_up
    assert (due.counts["due"], due.counts["booked"], due.rows) == (0, 1, [])
    set_state(appointment=review.appointment, state=AppointmentState.DID_NOT_ATTEND, actor=desk)
    due = signed_in(desk).get("/").context["desk"].follow_up
    assert (due.counts["due"], [row.case.pk for row in due.rows]) == (1, [review.pk])


@pytest.mark.usefixtures("busy_day")
def test_the_page_takes_as_many_queries_on_a_busy_day(
    signed_in, desk, injector, django_assert_num_queries
):
    everything = make_user("all", is_front_desk=True, is_injector=True, is_owner=True)
    client = signed_in(everything)

    def one_more(number: int) -> None:
        patient = make_patient(desk, f"Gil Example {number}")
        make_appointment(desk, patient, everything, f"{TODAY} 1{number}:00")
        make_review(everything, patient, TODAY)
        make_session(everything, patient)
        make_units(everything, make_product(f"Filler {number}"), number=f"L{number}")
        log_reading(place=make_fridge(f"Fridge {number}"), temperature=50, actor=everything)

    one_more(1)
    with CaptureQueriesContext(connection) as one:
        client.get("/")
    for number in (2, 3):
        one_more(number)
    with django_assert_num_queries(len(one)):
        client.get("/")


def test_what_came_back_is_said_at_the_desk(signed_in, desk, injector, patient):
    for number in range(2):
        day = TODAY + timedelta(days=3 + number)
        make_message(
            make_appointment(desk, patient, injector, f"{day} 10:00"),
            state=MessageState.UNDELIVERABLE,
        )
    page = page_of(signed_in(desk))
    assert "To settle: 2 messages that came back" in page
    assert f'href="{reverse("reminder-list")}"' in page


def test_whoever_cannot_come_is_named_at_the_desk(signed_in, desk, injector, patient):
    for days, kind in ((4, AnswerKind.CHANGE), (3, AnswerKind.CANNOT)):
        day = TODAY + timedelta(days=days)
        make_answer(make_appointment(desk, patient, injector, f"{day} 10:00"), kind)
    nearest = f"{TODAY + timedelta(days=3):%a %-d %b}"
    words = f"Ann Example cannot come on {nearest}, 10:00, and 1 more asks for a change"
    assert words in page_of(signed_in(desk))


def test_a_worker_that_stands_still_is_said_to_desk_and_owner(signed_in, desk, injector, owner):
    words = "The worker is not running"
    for person in (desk, owner):
        assert words not in page_of(signed_in(person)), "nobody misses it while nothing is sent"
    ReminderPolicy.objects.create(is_on=True)
    assert words in page_of(signed_in(desk))
    assert words in page_of(signed_in(owner))
    assert words not in page_of(signed_in(injector))
    note_seen()
    assert words not in page_of(signed_in(desk))


def test_a_stranger_is_asked_to_sign_in(client):
    assert client.get("/").headers["Location"].startswith(reverse("staff-login"))


def test_the_page_is_only_read(signed_in, desk):
    assert signed_in(desk).post("/").status_code == 405
