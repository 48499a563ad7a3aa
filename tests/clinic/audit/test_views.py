"""The audit page: who did what, in words, page by page."""

import json
from datetime import UTC, datetime

import pytest
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.audit.services import acting, record_read
from clinic.audit.wording import Change, act_label, told
from clinic.database.models import Counter
from clinic.products.services import save_product
from clinic.quarantine.services import quarantine_lot
from tests.factories import (
    make_appointment,
    make_point,
    make_product,
    make_room,
    make_session_with_unit,
    make_units,
)

LIST, VERIFY = reverse("audit-list"), reverse("audit-verify")


def shown(client, **query) -> list[str]:
    """The acts on the page, newest first."""
    answer = client.get(LIST, query)
    assert answer.status_code == 200
    return [row.event.action for row in answer.context["events"]]


def note(actor, action: str, *, at: datetime | None = None, patient_id=None) -> None:
    with acting(actor) as trail:
        trail.add(action, Counter(name="thing"), patient_id=patient_id)
        if at:
            trail._events[-1].at = at


def test_events_stand_newest_first_with_who_and_why(signed_in, owner):
    units = make_units(owner, make_product())
    quarantine_lot(lot=units[0].lot, reason="Safety notice", actor=owner)
    client = signed_in(owner)
    assert shown(client) == ["lot.quarantined", "quarantine.placed", "lot.received", "lot.added"]
    page = client.get(LIST).content.decode()
    for text in ("Lot quarantined", "Safety notice", "Olga Owner", "U000001, U000002"):
        assert text in page


def test_before_and_after_are_read_as_words(owner):
    product = make_product("Soft filler")
    product.maker, product.is_active, product.kind = "Other Maker", False, "other_filler"
    product.content = 2000
    save_product(product=product, actor=owner)
    (event,) = told(AuditEvent.objects.all())
    assert (event.what, event.subject) == ("Product saved", "Product Soft filler")
    assert set(event.changes) == {
        Change("Maker", "Example Maker", "Other Maker"),
        Change("Kind", "Hyaluronic acid filler", "Other filler"),
        Change("Content of one unit", "1 mL", "2 mL"),
        Change("In use", "yes", "no"),
    }


def test_things_are_named_as_people_know_them(signed_in, owner, patient):
    (unit, _) = make_units(owner, make_product())
    for thing in (unit, unit.lot, owner, patient):
        record_read(owner, thing, patient_id=patient.pk)
    lines = told(AuditEvent.objects.all()[:4])
    assert [line.subject for line in lines] == [
        f"Patient {patient.record_number}", "User Olga Owner", "Lot LOT42", "Unit of stock U000001",
    ]  # fmt: skip
    assert {line.patient for line in lines} == {patient.record_number}
    shown = signed_in(owner).get(LIST).content.decode()
    assert f'<a href="?patient={patient.pk}">{patient.record_number}</a>' in shown


def changes_of(action: str) -> dict[str, Change]:
    event = AuditEvent.objects.filter(action=action).first()
    return {change.label: change for change in told([event])[0].changes}


def test_fields_that_point_at_things_name_them_and_lead_there(signed_in, owner, injector, patient):
    product = make_product("Soft filler")
    (unit, _) = make_units(owner, product)
    session = make_session_with_unit(injector, patient, unit)
    make_point(session, unit)
    unit_url = reverse("unit-detail", kwargs={"pk": unit.pk})
    session_url = reverse("session-detail", kwargs={"pk": session.pk})
    product_url = reverse("product-edit", kwargs={"pk": product.pk})
    staff_url = reverse("staff-edit", kwargs={"pk": injector.pk})
    assert changes_of("lot.added")["Product"] == Change(
        "Product", "–", "Soft filler", after_url=product_url
    )
    point = changes_of("point.logged")
    assert (point["Unit"].after, point["Unit"].after_url) == ("U000001", unit_url)
    assert (point["Session"].after, point["Session"].after_url) == (
        f"Session {session.pk}", session_url,
    )  # fmt: skip
    # Not a field of the unit, but called so by the trail.
    assert changes_of("unit.on_tray")["Session"].after == f"Session {session.pk}"
    started = changes_of("session.started")
    assert (started["Injector"].after, started["Injector"].after_url) == (
        "Ida Injector", staff_url,
    )  # fmt: skip
    page = signed_in(owner).get(LIST).content.decode()
    for url, words in [(unit_url, "U000001"), (session_url, f"Session {session.pk}"),
                       (product_url, "Soft filler"), (staff_url, "Ida Injector")]:  # fmt: skip
        assert f'<a href="{url}">{words}</a>' in page


def test_rooms_and_sites_are_named(owner, injector, patient):
    make_appointment(owner, patient, injector, "2026-12-01 10:00", room=make_room("Room 1"))
    booked = changes_of("appointment.booked")
    assert (booked["Room"].after, booked["Site"].after) == ("Larkstone, Room 1", "Larkstone")


@pytest.mark.parametrize("value", ["x", -1, True, [1], {"a": 1}, "9" * 30, None])
def test_a_field_that_points_nowhere_is_shown_as_it_is(owner, value):
    event = AuditEvent(
        action="x.y", subject_type="lot", subject_id="1",
        data=json.dumps({"after": {"product": value}}),
    )  # fmt: skip
    (change,) = told([event])[0].changes
    assert change.after_url == ""


def test_a_thing_that_is_gone_keeps_kind_and_number(db):
    event = AuditEvent(action="x.y", subject_type="lot", subject_id="1",
                       data='{"before":{"product":77},"after":{"product":78}}')  # fmt: skip
    (change,) = told([event])[0].changes
    assert (change.before, change.after) == ("Product 77", "Product 78")


def test_naming_takes_one_query_a_kind(owner, django_assert_num_queries):
    for name in ("One", "Two", "Three"):
        make_units(owner, make_product(name))
    events = list(AuditEvent.objects.select_related("actor"))
    with django_assert_num_queries(2):  # lots and products
        told(events)


@pytest.mark.parametrize("subject_id", ["x", "²", "9" * 30, "-1", "123"])
def test_a_thing_that_cannot_be_found_keeps_its_number(owner, subject_id):
    event = AuditEvent(at=timezone.now(), action="read", subject_type="lot", subject_id=subject_id)
    (line,) = told([event])
    assert line.subject == f"Lot {subject_id}"


def test_dates_times_lists_and_nothing_are_readable(owner):
    with acting(owner) as trail:
        trail.add("lot.added", Counter(name="x"), before={"expires_on": None},
                  after={"expires_on": "2026-11-05", "at": "2026-11-05T09:30:00Z",
                         "list": [1, "a"], "text": "2026-13-45"})  # fmt: skip
    (event,) = told(AuditEvent.objects.all())
    assert {change.label: change.after for change in event.changes} == {
        "Expires on": "5 Nov 2026",
        "At": "5 Nov 2026, 09:30",
        "List": "1, a",
        "Text": "2026-13-45",
    }
    assert event.changes[0].before == "–"


@pytest.mark.parametrize("text", ["0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00"])
def test_a_text_like_a_time_beyond_any_calendar_stays_as_it_is(owner, text):
    with acting(owner) as trail:
        trail.add("session.changed", Counter(name="thing"), after={"note": text})
    (event,) = told(AuditEvent.objects.all())
    assert event.changes[0].after == text


@pytest.mark.parametrize("data", ["[]", "not json", '{"after": 3}', '"text"', "null"])
def test_data_that_is_none_of_ours_is_shown_as_it_is(owner, data):
    event = AuditEvent(id=1, actor=None, action="x.y", subject_type="gone", data=data)
    (line,) = told([event])
    assert line.who == "Command"
    assert line.reason == data or json.loads(data) in ([], None)


@pytest.mark.parametrize(
    ("action", "label"),
    [("lot.quarantined", "Lot quarantined"), ("staff.password_set", "Staff password set"),
     ("read", "Opened")],
)  # fmt: skip
def test_an_act_has_a_label(action, label):
    assert act_label(action) == label


def test_the_trail_is_filtered_by_person_act_and_patient(signed_in, owner, injector):
    note(owner, "a.one", patient_id=7)
    note(injector, "a.two", patient_id=7)
    note(injector, "a.one", patient_id=8)
    client = signed_in(owner)
    assert shown(client, actor=injector.pk) == ["a.one", "a.two"]
    assert shown(client, action="a.one") == ["a.one", "a.one"]
    assert shown(client, patient=7) == ["a.two", "a.one"]
    assert shown(client, patient=7, actor=injector.pk) == ["a.two"]
    assert shown(client, action="never.seen") == []


def test_the_filter_keeps_the_patient_of_the_link(signed_in, owner):
    page = signed_in(owner).get(LIST, {"patient": 7}).content.decode()
    assert 'name="patient" value="7"' in page
    assert "Only what concerns" in page


def test_days_are_inclusive(signed_in, owner):
    for day in (3, 4, 5):
        note(owner, f"day.{day}", at=datetime(2026, 11, day, 12, tzinfo=UTC))
    client = signed_in(owner)
    assert shown(client, from_day="2026-11-04") == ["day.5", "day.4"]
    assert shown(client, to_day="2026-11-04") == ["day.4", "day.3"]
    assert shown(client, from_day="2026-11-04", to_day="2026-11-04") == ["day.4"]


@pytest.mark.parametrize(
    "query",
    [
        {"from_day": "2026-02-31"},
        {"from_day": "0001-01-01"},
        {"to_day": "9999-12-31"},
        {"actor": "nobody"},
        {"patient": "x"},
        {"before": "-1"},
        {"action": "\x00"},
    ],
)
def test_a_filter_that_cannot_be_read_says_so_and_is_left_out(signed_in, owner, query):
    note(owner, "a.one")
    answer = signed_in(owner).get(LIST, query)
    assert answer.status_code == 200
    assert [row.event.action for row in answer.context["events"]] == ["a.one"]


def test_a_range_that_ends_before_it_begins_is_pointed_out(signed_in, owner):
    answer = signed_in(owner).get(LIST, {"from_day": "2026-11-05", "to_day": "2026-11-04"})
    assert "before the first one" in answer.content.decode()


def test_pages_follow_by_position_and_miss_nothing(signed_in, owner, django_assert_num_queries):
    with acting(owner) as trail:
        for _ in range(120):
            trail.add("a.one", Counter(name="x"))
    client = signed_in(owner)
    seen, query = [], {"action": "a.one"}
    while True:
        answer = client.get(LIST, query)
        seen += [row.event.id for row in answer.context["events"]]
        note(owner, "a.one")  # a busy clinic: later events must not shift the pages
        if not answer.context["next_before"]:
            break
        query["before"] = answer.context["next_before"]
    assert seen == list(range(120, 0, -1))


def test_queries_do_not_grow_with_events(signed_in, owner, django_assert_max_num_queries):
    client = signed_in(owner)
    record_read(owner, owner, patient_id=3)
    with django_assert_max_num_queries(100) as few:
        client.get(LIST)
    for _ in range(5):
        record_read(owner, owner, patient_id=3)
    with django_assert_max_num_queries(len(few.captured_queries)):
        client.get(LIST)


def test_the_page_verifies_the_chain(signed_in, owner):
    note(owner, "a.one")
    answer = signed_in(owner).get(VERIFY)
    assert answer.context["verdict"].intact
    assert answer.context["verdict"].digest in answer.content.decode()


def test_a_long_trail_is_left_to_the_command(signed_in, owner, monkeypatch):
    monkeypatch.setattr("clinic.audit.views.MOST_ON_A_PAGE", 0)
    note(owner, "a.one")
    answer = signed_in(owner).get(VERIFY)
    assert answer.context["verdict"] is None
    assert "python manage.py verify_audit" in answer.content.decode()


def test_a_broken_chain_is_named_on_the_page(signed_in, owner, monkeypatch):
    note(owner, "a.one")
    monkeypatch.setattr("clinic.audit.queries.GENESIS", "f" * 64)
    page = signed_in(owner).get(VERIFY).content.decode()
    assert "Broken at row 1" in page


def test_strangers_colleagues_and_wrong_method(client, owner, injector, desk):
    for url in (LIST, VERIFY):
        assert client.get(url).status_code == 302
    for person in (injector, desk):
        client.force_login(person)
        for url in (LIST, VERIFY):
            assert client.get(url).status_code == 403
    client.force_login(owner)
    for url in (LIST, VERIFY):
        assert client.post(url).status_code == 405
