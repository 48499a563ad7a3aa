"""
The temperature log. The range of 2 to 8 °C is that of `planning.sources.FRIDGE_RANGE` (USP Quality
Review No. 40, 1994).
"""

import csv
import io
from datetime import UTC, datetime, timedelta

import pytest
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.fridges.errors import FridgeError, NotSaidWhatWasDone
from clinic.fridges.models import ExcursionReview, FridgeReading
from clinic.fridges.queries import excursions_of, fridges_now, lots_lying_then
from clinic.fridges.services import decide_excursion, log_reading
from clinic.policy.queries import current_policy
from clinic.stock.enums import MovementKind
from clinic.stock.services import put_elsewhere, take_out_of_stock
from records.demo.clock import clock_at
from tests.factories import (
    make_fridge,
    make_place,
    make_point,
    make_product,
    make_session_with_unit,
    make_units,
)

MONDAY = datetime(2026, 11, 23, 8, 0, tzinfo=UTC)
LIST = reverse("fridge-list")


def hours(number: float) -> datetime:
    """So many hours after Monday morning."""
    return MONDAY + timedelta(hours=number)


def at(name: str, thing) -> str:
    return reverse(name, kwargs={"pk": thing.pk})


@pytest.fixture
def fridge(db):
    return make_fridge()


@pytest.fixture
def read(fridge, injector):
    """`read(hour, tenths, ...)`: a look at the thermometer, so many hours after Monday morning."""

    def look(hour: float, temperature: int, place=fridge, **fields) -> FridgeReading:
        done = "" if 20 <= temperature <= 80 else "Door closed"
        with clock_at(hours(hour)):
            return log_reading(
                place=place, temperature=temperature, actor=injector, **{"done": done} | fields
            )

    return look


# Readings


def test_a_reading_is_kept_in_the_name_of_whoever_looked_with_the_range_of_that_day(
    fridge, injector
):
    reading = log_reading(
        place=fridge, temperature=54, coldest=31, warmest=60, note=" Filled up ", actor=injector
    )
    fridge.lowest_tenths, fridge.highest_tenths = 60, 90
    fridge.save()
    stored = FridgeReading.objects.get()
    assert (stored.temperature, stored.coldest, stored.warmest) == (54, 31, 60)
    assert (stored.lowest, stored.highest, stored.is_outside) == (20, 80, False)
    assert (stored.by, stored.note, stored.read_at) == (injector, "Filled up", stored.logged_at)
    event = AuditEvent.objects.get(action="fridge.read")
    assert event.subject_id == str(reading.pk)
    assert '"temperature":"5.4 °C"' in event.data


@pytest.mark.parametrize(
    "outside",
    [
        {"temperature": 81}, {"temperature": 19}, {"temperature": 50, "coldest": 19},
        {"temperature": 50, "warmest": 81},
    ],
)  # fmt: skip
def test_out_of_range_asks_what_was_done(fridge, injector, outside):
    with pytest.raises(NotSaidWhatWasDone, match="outside of 2 °C to 8 °C: say what was done"):
        log_reading(place=fridge, actor=injector, done="  ", **outside)
    assert log_reading(place=fridge, actor=injector, done="Door closed", **outside).is_outside


@pytest.mark.parametrize("temperature", [20, 80])
def test_both_ends_of_the_range_are_in_range(fridge, injector, temperature):
    assert not log_reading(place=fridge, temperature=temperature, actor=injector).is_outside


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"coldest": 60}, "cannot be above the temperature now"),
        ({"warmest": 40}, "cannot be below the temperature now"),
        ({"read_at": hours(1)}, "still to come"),
        ({"read_at": hours(-24 * 14 - 1)}, "within 14 days"),
    ],
)
def test_a_reading_that_cannot_be_is_refused(fridge, injector, fields, words):
    with clock_at(MONDAY), pytest.raises(FridgeError, match=words):
        log_reading(place=fridge, temperature=50, actor=injector, **fields)


def test_two_readings_of_one_moment_are_one_too_many(read):
    read(0, 50)
    with pytest.raises(FridgeError, match="that very time already"):
        read(0, 51)


def test_only_a_fridge_keeps_a_log(injector):
    with pytest.raises(FridgeError, match="is no fridge"):
        log_reading(place=make_place(), temperature=50, actor=injector)


@pytest.mark.parametrize(
    ("fields", "name"),
    [
        ({"coldest": 51}, "reading_coldest_is_not_above"),
        ({"warmest": 49}, "reading_warmest_is_not_below"),
        ({"temperature": 1_001, "done": "x"}, "reading_is_a_temperature"),
        ({"lowest": 80}, "reading_has_a_range"),
        ({"temperature": 81}, "reading_outside_says_what_was_done"),
        ({"coldest": 19}, "reading_outside_says_what_was_done"),
        ({"warmest": 81}, "reading_outside_says_what_was_done"),
    ],
)
def test_the_database_holds_the_rules_too(fridge, injector, fields, name):
    row = {
        "place": fridge, "read_at": MONDAY, "logged_at": MONDAY, "by": injector,
        "temperature": 50, "lowest": 20, "highest": 80,
    }  # fmt: skip
    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        FridgeReading.objects.create(**row | fields)


def test_the_database_takes_one_reading_at_a_time(read, injector):
    reading = read(0, 50)
    reading.pk = None
    with (
        pytest.raises(IntegrityError, match=r"reading_one_at_a_time|read_at"),
        transaction.atomic(),
    ):
        reading.save(force_insert=True)


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE clinic_fridgereading SET temperature = 50",
        "DELETE FROM clinic_fridgereading",
        "UPDATE clinic_excursionreview SET decision = 'x'",
        "DELETE FROM clinic_excursionreview",
    ],
)
def test_the_log_and_its_decisions_only_grow(read, owner, statement):
    reading = read(0, 90)
    decide_excursion(first=reading, last=reading, decision="Destroyed", actor=owner)
    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
        connection.cursor().execute(statement)


# Excursions


def test_readings_in_a_row_are_one_excursion_and_the_newest_stands_first(fridge, read):
    for hour, temperature in [(0, 50), (8, 90), (16, 95), (24, 60), (32, 10)]:
        read(hour, temperature)
    newest, oldest = excursions_of(fridge)
    assert (newest.first.read_at, newest.until, newest.excursion.extreme) == (hours(32), None, 10)
    assert (oldest.since, oldest.until) == (hours(0), hours(24))
    assert (oldest.first.read_at, oldest.last.read_at) == (hours(8), hours(16))


def test_a_change_of_range_does_not_change_the_past(fridge, read):
    read(0, 90)
    fridge.highest_tenths = 120
    fridge.save()
    read(8, 90, done="")
    (row,) = excursions_of(fridge)
    assert row.excursion.first == row.excursion.last == hours(0)


def test_a_fridge_waits_until_the_owner_has_decided(fridge, read, owner):
    first, last = read(0, 90), read(8, 95)
    assert fridges_now(current_policy(), hours(9))[0].waits
    decide_excursion(first=first, last=last, decision="Maker asked: may be used", actor=owner)
    (row,) = excursions_of(fridge)
    assert row.is_decided
    assert not fridges_now(current_policy(), hours(9))[0].waits
    read(16, 99)
    (row,) = excursions_of(fridge)
    assert not row.is_decided
    assert [review.decision for review in row.reviews] == ["Maker asked: may be used"]
    assert fridges_now(current_policy(), hours(17))[0].waits


def test_a_decision_says_something_about_one_excursion(fridge, read, owner):
    first, last = read(0, 90), read(8, 95)
    other = read(0, 90, place=make_fridge("Other"))
    with pytest.raises(FridgeError, match="Say what was decided"):
        decide_excursion(first=first, last=last, decision=" ", actor=owner)
    for wrong in ({"first": last, "last": first}, {"first": first, "last": other}):
        with pytest.raises(FridgeError, match="not one excursion"):
            decide_excursion(decision="Destroyed", actor=owner, **wrong)
        row = {"decision": "x", "at": MONDAY, "by": owner, **wrong}
        with pytest.raises(IntegrityError, match="of one fridge"), transaction.atomic():
            ExcursionReview.objects.create(**row)
    with pytest.raises(IntegrityError, match="says_something"), transaction.atomic():
        ExcursionReview.objects.create(first=first, last=last, decision="", at=MONDAY, by=owner)


@pytest.mark.parametrize(("since", "is_overdue"), [(24, False), (24.02, True)])
def test_a_reading_is_overdue_after_the_policys_hours(fridge, read, since, is_overdue):
    read(0, 50)
    assert fridges_now(current_policy(), hours(since))[0].is_overdue == is_overdue


def test_a_fridge_without_any_reading_is_overdue_one_out_of_use_is_left_out(fridge):
    make_fridge("Old", is_active=False)
    make_place()
    (standing,) = fridges_now(current_policy(), MONDAY)
    assert (standing.place, standing.last, standing.is_overdue) == (fridge, None, True)


# What lay there


def lay_there(fridge, since: float, until: float) -> dict[str, int]:
    then = lots_lying_then(fridge, since=hours(since), until=hours(until))
    return {row.lot.number: row.units for row in then}


def test_what_lay_there_is_read_from_the_ledger(fridge, owner, injector, patient):
    room, product = make_place("Room"), make_product()

    def received(hour: float, number: str, quantity: int = 1, place=fridge):
        with clock_at(hours(hour)):
            return make_units(owner, product, number=number, quantity=quantity, place=place)

    stays = received(-48, "STAYS", 3)
    carried = received(-48, "CARRIED")
    left = received(-48, "LEFT")
    came = received(-48, "CAME", place=room)
    received(-48, "ELSEWHERE", place=room)
    received(4, "FRESH")
    received(20, "LATER")
    with clock_at(hours(-24)):
        put_elsewhere(unit=carried[0], place=room, actor=owner)
        take_out_of_stock(unit=left[0], kind=MovementKind.RETURNED, reason="Twice", actor=owner)
    with clock_at(hours(2)):
        put_elsewhere(unit=came[0], place=fridge, actor=owner)
        take_out_of_stock(unit=stays[0], kind=MovementKind.WRITTEN_OFF, reason="-", actor=owner)
    with clock_at(hours(30)):
        put_elsewhere(unit=stays[1], place=room, actor=owner)
    assert lay_there(fridge, 0, 10) == {"STAYS": 3, "CAME": 1, "FRESH": 1}
    assert lay_there(fridge, -36, -30) == {"STAYS": 3, "CARRIED": 1, "LEFT": 1}


def test_a_vial_that_was_used_up_before_is_not_among_it(fridge, owner, injector, patient):
    with clock_at(hours(-48)):
        used, begun = make_units(owner, make_product(), place=fridge)
    with clock_at(hours(-24)):
        session = make_session_with_unit(injector, patient, used)
        make_point(session, used, amount=1000)
    with clock_at(hours(1)):
        make_point(make_session_with_unit(injector, patient, begun), begun, amount=200)
    assert lay_there(fridge, 0, 10) == {"LOT42": 1}
    assert lay_there(fridge, -36, 10) == {"LOT42": 2}


# Pages


TYPED = {"temperature": "5,4", "coldest": "", "warmest": "", "done": "", "note": "", "read_at": ""}


def test_a_reading_is_logged_from_the_fridges_page(signed_in, injector, fridge):
    answer = signed_in(injector).post(at("fridge-log", fridge), TYPED)
    assert answer.headers["Location"] == at("fridge-detail", fridge)
    assert FridgeReading.objects.get().temperature == 54


def test_out_of_range_comes_back_once_with_the_question(signed_in, injector, fridge):
    client, url = signed_in(injector), at("fridge-log", fridge)
    assert 'name="done"' not in client.get(at("fridge-detail", fridge)).content.decode()
    answer = client.post(url, TYPED | {"temperature": "9.1"})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "outside of 2 °C to 8 °C" in str(answer.context["form"].errors["done"])
    assert 'name="done"' in page
    assert 'value="9.1"' in page
    assert client.post(url, TYPED | {"temperature": "9.1", "done": "Closed"}).status_code == 302
    assert FridgeReading.objects.get().done == "Closed"


@pytest.mark.parametrize(
    ("change", "field", "words"),
    [
        ({"temperature": ""}, "temperature", "Temperature now is required."),
        ({"temperature": "warm"}, "temperature", "is not a temperature"),
        ({"temperature": "40 °F"}, "temperature", "This log is in °C"),
        ({"coldest": "5.55"}, "coldest", "at most 1 digit"),
        ({"warmest": "5"}, "__all__", "cannot be below the temperature now"),
        ({"read_at": "2999-01-01T10:00"}, "read_at", "still to come"),
        ({"read_at": "0001-01-01T00:00"}, "read_at", "within 14 days"),
        ({"read_at": "yesterday"}, "read_at", "valid date/time"),
        ({"note": "x" * 301}, "note", "at most 300 characters"),
    ],
)
def test_bad_input_is_named_on_its_field(signed_in, injector, fridge, change, field, words):
    answer = signed_in(injector).post(at("fridge-log", fridge), TYPED | change)
    assert words in str(answer.context["form"].errors[field])
    assert not FridgeReading.objects.exists()


def test_what_was_read_on_paper_keeps_its_own_time(signed_in, injector, fridge):
    earlier = timezone.localtime() - timedelta(hours=3)
    signed_in(injector).post(
        at("fridge-log", fridge), TYPED | {"read_at": f"{earlier:%Y-%m-%dT%H:%M}"}
    )
    reading = FridgeReading.objects.get()
    assert f"{timezone.localtime(reading.read_at):%H:%M}" == f"{earlier:%H:%M}"
    assert reading.logged_at > reading.read_at


def test_the_list_says_what_is_overdue_and_what_waits(
    signed_in, injector, fridge, django_assert_num_queries
):
    client = signed_in(injector)
    log_reading(place=fridge, temperature=90, done="Closed", actor=injector)
    make_fridge("New one")
    page = client.get(LIST).content.decode()
    assert "Out of range: to be decided" in page
    assert "Reading overdue" in page
    with CaptureQueriesContext(connection) as few:
        client.get(LIST)
    for name in ("Third", "Fourth"):
        log_reading(place=make_fridge(name), temperature=50, actor=injector)
    with django_assert_num_queries(len(few)):
        client.get(LIST)


def test_the_chart_is_a_drawing_with_a_table_beside_it(signed_in, injector, fridge):
    now = timezone.now()
    for day, temperature, done in [(3, 50, ""), (2, 90, "Closed"), (1, 10, "Opened")]:
        with clock_at(now - timedelta(days=day)):
            log_reading(place=fridge, temperature=temperature, done=done, actor=injector)
    page = signed_in(injector).get(at("fridge-detail", fridge)).content.decode()
    assert page.count('<circle class="chart__mark"') == 4  # one of them in the key
    assert page.count('<polygon class="chart__outside"') == 4  # two of them in the key
    assert "Temperatures of Fridge in the last 30 days: 3 readings." in page
    for words in ("Too warm", "Too cold", "in range", "9\u00a0°C", "1\u00a0°C"):
        assert words in page


def test_the_owner_decides_on_the_excursions_page_and_others_read_it(
    signed_in, owner, injector, fridge, read
):
    with clock_at(hours(-1)):
        make_units(owner, make_product("Toxin"), number="COLD7", place=fridge)
    first = read(0, 90)
    url = at("excursion-detail", first)
    page = signed_in(injector).get(url).content.decode()
    assert "COLD7" in page
    assert "The practice owner has not decided yet." in page
    decide = at("excursion-decide", first)
    assert signed_in(injector).post(decide, {"decision": "x"}).status_code == 403
    client = signed_in(owner)
    answer = client.post(decide, {"decision": ""})
    assert (answer.status_code, "is required" in answer.content.decode()) == (422, True)
    client.post(decide, {"decision": "Maker asked: may be used"})
    assert "Maker asked: may be used" in client.get(url).content.decode()
    assert ExcursionReview.objects.get().by == owner


def test_cautions_stand_where_the_risk_is(signed_in, injector, fridge, read):
    client = signed_in(injector)
    for url in (LIST, at("fridge-detail", fridge), at("excursion-detail", read(0, 90))):
        page = client.get(url).content.decode()
        assert "storage instructions of each product decide" in page
        assert "ask the maker or a pharmacist before any of it is used" in page


def test_the_log_is_exported_in_the_order_of_time(signed_in, injector, read, fridge):
    read(8, 90, note="=1+1")
    read(0, 50, coldest=31)
    answer = signed_in(injector).get(at("fridge-csv", fridge))
    text = b"".join(answer.streaming_content).decode("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert [row["temperature_c"] for row in rows] == ["5", "9"]
    assert rows[0] == {
        "site": "Riverside", "fridge": "Fridge", "read_at": "2026-11-23T08:00+00:00",
        "temperature_c": "5", "lowest_since_c": "3.1", "highest_since_c": "", "range_from_c": "2",
        "range_to_c": "8", "out_of_range": "no", "what_was_done": "", "note": "",
        "by": "Ida Injector", "logged_at": "2026-11-23T08:00+00:00",
    }  # fmt: skip
    assert (rows[1]["out_of_range"], rows[1]["note"]) == ("yes", "'=1+1")
    assert AuditEvent.objects.filter(action="fridge.exported").count() == 1


def test_what_is_no_fridge_and_no_excursion_is_not_found(signed_in, injector, fridge, read):
    client = signed_in(injector)
    assert client.get(at("fridge-detail", make_place())).status_code == 404
    assert client.get(at("excursion-detail", read(0, 50))).status_code == 404
    first, last = read(8, 90), read(16, 95)
    assert client.get(at("excursion-detail", last)).status_code == 404
    assert client.get(at("excursion-detail", first)).status_code == 200
    assert client.get(at("fridge-log", fridge)).status_code == 405
