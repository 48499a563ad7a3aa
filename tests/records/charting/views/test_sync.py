"""The endpoint: what it answers, to whom, and to what."""

import json
import uuid
from datetime import timedelta

import pytest
from django.db import IntegrityError, OperationalError, connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from records.charting.enums import Kind
from records.charting.models import Operation
from records.charting.services.acts import ACTS
from tests.factories import make_patient, make_point, make_session, make_user
from tests.records.charting.tablet import Tablet, open_data, point_data, stamp


def test_answer_tells_who_when_and_what(tablet, session, units, injector):
    op = tablet.op("log", session, point_data(units[0]))
    answer = tablet.send(op, wanted=[session])
    assert answer["user"] == {"id": injector.pk, "name": "Ida Injector"}
    assert answer["results"] == [
        {"id": op["id"], "outcome": "applied", "message": "", "conflict": None}
    ]
    (point,) = answer["sessions"][str(session.key)]["points"]
    assert (point["key"], point["head"], point["number"]) == (op["data"]["key"], op["id"], 1)
    assert answer["alerts"] == []
    assert answer["stock"]


def test_sessions_of_others_and_unknown_ones_are_null(tablet, patient):
    theirs = make_session(make_user("second", is_injector=True), patient)
    unknown = str(uuid.uuid4())
    answer = tablet.send(wanted=[theirs, unknown])
    assert answer["sessions"] == {str(theirs.key): None, unknown: None}


def test_clock_that_is_off_is_pointed_out(injector, session, units):
    tablet = Tablet(injector, slow_by=timedelta(minutes=7))
    op = tablet.op("log", session, point_data(units[0]))
    answer = tablet.send(op, wanted=[session])
    words = "The tablet's clock was 7 minutes off: behind the clinic's."
    assert answer["alerts"] == [words]
    flags = answer["sessions"][str(session.key)]["flags"]
    assert words in [flag["title"] for flag in flags]
    skew = Operation.objects.get().skew_ms
    assert abs(skew - 7 * 60_000) < 30_000


@pytest.mark.parametrize("slow_by", [timedelta(seconds=100), timedelta(seconds=-100)])
def test_clock_that_is_nearly_right_is_not(injector, session, units, slow_by):
    tablet = Tablet(injector, slow_by=slow_by)
    answer = tablet.send(tablet.op("log", session, point_data(units[0])), wanted=[session])
    assert answer["alerts"] == []
    assert "clock" not in json.dumps(answer["sessions"][str(session.key)]["flags"])


@pytest.mark.parametrize("slow_by", [timedelta(days=20_000), timedelta(days=-30_000)])
def test_flat_batterys_clock_stores_everything_in_order(injector, session, units, slow_by):
    tablet = Tablet(injector, slow_by=slow_by)
    ops = [tablet.op("log", session, point_data(units[0], amount=10)) for _ in range(2)]
    assert tablet.outcomes(*ops) == ["applied", "applied"]


def test_reading_a_session_is_in_the_trail_once_a_day(tablet, session):
    for _ in range(3):
        tablet.send(wanted=[session])
    event = AuditEvent.objects.get(action="read.day")
    assert (event.actor, event.patient_id) == (tablet.user, session.patient_id)


def test_busy_database_is_503_and_nothing_is_lost(tablet, session, units, monkeypatch):
    def busy(**_):
        raise OperationalError("database is locked")

    monkeypatch.setattr("records.charting.views.sync.apply_batch", busy)
    op = tablet.op("log", session, point_data(units[0]))
    body = {"device": str(uuid.uuid4()), "sent_at": stamp(timezone.now()), "operations": [op]}
    answer = tablet.post(body)
    assert answer.status_code == 503
    assert "sent again" in answer.json()["message"]


def test_signed_out_is_401_and_the_desk_403(client, desk, tablet):
    url = reverse("charting-sync")
    sent = {"content_type": "application/json", "headers": {"Accept": "application/json"}}
    assert client.post(url, "{}", **sent).status_code == 401
    client.force_login(desk)
    assert client.post(url, "{}", **sent).status_code == 403


def test_without_token_nothing_is_taken(injector):
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(injector)
    answer = strict.post(reverse("charting-sync"), "{}", content_type="application/json")
    assert answer.status_code == 403


def test_page_is_the_same_for_everybody(client, injector, owner, session):
    second = make_user("second", is_injector=True)
    texts = set()
    for person in (injector, second):
        client.force_login(person)
        answer = client.get(reverse("charting"))
        assert answer["Cache-Control"] == "no-cache"
        texts.add(answer.content)
    (text,) = texts
    assert b"Ida" not in text
    assert b"csrfmiddlewaretoken" not in text


def queries_of(act) -> int:
    with CaptureQueriesContext(connection) as queries:
        act()
    return len(queries)


def test_snapshot_takes_the_same_queries_for_any_number_of_points(tablet, session, units):
    tablet.only(tablet.op("open", session, open_data(units[1])))
    make_point(session, units[0], amount=10)
    tablet.send(wanted=[session])
    few = queries_of(lambda: tablet.send(wanted=[session]))
    # Session cookie and user; the session, anaesthesia, occlusion logs, whether its reading is
    # noted, policy, alerts; tray, points, markings, photographs, clocks; quarantines, what was
    # given earlier and elsewhere, plan, atlas, stops, time-outs, review rules, closures; the
    # stock's seal. More are worth a look.
    assert few == 2 + 6 + 5 + 9 + 1
    for number in range(5):
        make_point(session, units[number % 2], amount=10)
    assert queries_of(lambda: tablet.send(wanted=[session])) == few


def test_a_point_needs_as_many_statements_whatever_is_there(tablet, session, units):
    """A request's cost must not grow with the session; more than these are worth a look."""

    def send() -> None:
        tablet.only(tablet.op("log", session, point_data(units[0], amount=10)))

    send()
    few = queries_of(send)
    for _ in range(5):
        make_point(session, units[0], amount=10)
    # Session cookie and user; the transaction (2); session, last number, unit; point, operation;
    # the trail's end, event and end; the stock's seal.
    assert queries_of(send) == few == 2 + 2 + 3 + 2 + 3 + 1


def test_twenty_points_take_the_statements_of_one(tablet, session, units):
    def ops(count: int) -> list[dict]:
        return [tablet.op("log", session, point_data(units[0], amount=10)) for _ in range(count)]

    tablet.send(*ops(1))
    alone = queries_of(lambda: tablet.send(*ops(1)))
    together = queries_of(lambda: tablet.send(*ops(20)))
    assert together == alone
    assert session.points.count() == 22


def test_batch_that_does_not_fit_whole_is_stored_but_for_what_does_not(tablet, session, units):
    """What was tried at once leaves nothing behind: no row, no number, no event, no amount."""
    sent = [tablet.op("log", session, point_data(units[0], amount=10)) for _ in range(7)]
    tablet.send(sent[0])
    sent[3]["data"]["amount"] = 10**6
    expected = ["applied"] * 3 + ["refused"] + ["applied"] * 3
    assert tablet.outcomes(*sent) == tablet.outcomes(*sent) == expected
    stored = [op["data"]["key"] for op in sent if op is not sent[3]]
    assert [str(point.key) for point in session.points.order_by("number")] == stored
    assert [point.number for point in session.points.order_by("number")] == [1, 2, 3, 4, 5, 6]
    assert Operation.objects.count() == 6
    assert AuditEvent.objects.filter(action="point.logged").count() == 6
    units[0].refresh_from_db()
    assert units[0].drawn == 60


def test_two_patients_of_one_name_stay_apart(tablet, injector, desk, patient):
    twin = make_patient(desk, patient.full_name)
    own, other = make_session(injector, patient), make_session(injector, twin)
    told = tablet.send(wanted=[own, other])["sessions"]
    assert told[str(own.key)]["patient"]["record_number"] == patient.record_number
    assert told[str(other.key)]["patient"]["record_number"] == twin.record_number


def test_more_sessions_than_fit_are_left_for_the_next_request(tablet, session):
    keys = [session.key, *(uuid.uuid4() for _ in range(60))]
    told = tablet.send(wanted=keys)["sessions"]
    assert len(told) == 50
    assert told[str(session.key)] is not None


@pytest.mark.parametrize("error", [TypeError, KeyError, OverflowError, IntegrityError])
def test_one_act_that_breaks_is_refused_alone(tablet, session, units, monkeypatch, error):
    def broken(act):
        raise error("unexpected")

    monkeypatch.setitem(ACTS, Kind.EDIT, broken)
    good = tablet.op("log", session, point_data(units[0]))
    results = tablet.send(tablet.op("edit", session, {"note": "Calm"}), good)["results"]
    assert [row["outcome"] for row in results] == ["refused", "applied"]
    assert "Give it up" in results[0]["message"]


def test_crosswise_race_inside_an_act_is_run_again(tablet, session, units, monkeypatch):
    """What collided with another tablet's row the first time finds that row the second time."""
    calls = []

    def collides_once(act):
        calls.append(act)
        if len(calls) == 1:
            raise IntegrityError("UNIQUE constraint failed")

    monkeypatch.setitem(ACTS, Kind.EDIT, collides_once)
    op = tablet.op("edit", session, {"note": "Calm"})
    good = tablet.op("log", session, point_data(units[0]))
    assert tablet.outcomes(good, op) == ["applied", "applied"]
    assert session.points.count() == 1
