"""The time-out and going past a stop, from a tablet."""

import uuid
from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.policy.models import ClinicPolicy
from planning.consents import ConsentKind
from records.charting.queries.day import day_json
from records.gates.models import GateDecision
from records.patients.models import Patient
from records.sessions.errors import SessionNotEmpty
from records.sessions.models import TreatmentSession
from records.sessions.queries.flags import shown_flags
from records.sessions.services.signing import content_digest, sign_session
from records.sessions.services.sittings import set_aside_session
from records.time_out.enums import Item
from records.time_out.models import TimeOutCheck
from tests.factories import make_consent, make_emergency_item, make_photograph, refreshed
from tests.records.charting.tablet import point_data, start_op
from tests.records.gates.fakes import stop


def pause(**fields) -> dict:
    checks = [
        {"item": item.value, "is_confirmed": True, "note": "", "facts": "As shown"} for item in Item
    ]
    return {"key": str(uuid.uuid4()), "checks": checks, **fields}


def without_pictures() -> dict:
    data = pause()
    row = next(row for row in data["checks"] if row["item"] == "photographs")
    row |= {"is_confirmed": False, "note": "none wanted"}
    return data


def titles(session) -> list[str]:
    points = list(session.points.standing().order_by("number"))
    flags = shown_flags(session, points, session.tray.select_related("unit__lot__product"))
    return [flag.title for flag in flags if flag.label in ("Time-out", "Decision", "Not settled")]


def test_a_time_out_is_stored_once_with_what_stood_beside_it(tablet, session):
    done = tablet.op("time_out", session, pause())
    assert tablet.outcomes(done, done) == ["applied", "applied"]
    rows = TimeOutCheck.objects.all()
    assert [row.item for row in rows] == list(Item)
    assert {(row.is_confirmed, row.facts, row.by) for row in rows} == {
        (True, "As shown", session.injector)
    }
    event = AuditEvent.objects.get(action="time_out.done")
    assert event.patient_id == session.patient_id
    (told,) = tablet.send(wanted=[session])["sessions"][str(session.key)]["time_outs"]
    assert told["key"] == done["data"]["key"]
    again = tablet.op("time_out", session, without_pictures() | {"key": done["data"]["key"]})
    assert tablet.only(again)["outcome"] == "refused"


@pytest.mark.parametrize(
    ("checks", "message"),
    [
        ([], "Answer each item"),
        (pause()["checks"][1:], "Answer each item of the time-out once."),
        (pause()["checks"] * 2, "Answer each item of the time-out once."),
        (["identity"], "Choose the item."),
        ({"identity": True}, "not of the kind"),
        ([*pause()["checks"][1:], {"item": "identity"}], "or say why it is not so"),
    ],
)
def test_half_a_time_out_is_refused_with_a_sentence(tablet, session, checks, message):
    result = tablet.only(tablet.op("time_out", session, pause(checks=checks)))
    assert result["outcome"] == "refused"
    assert message in result["message"]
    assert not TimeOutCheck.objects.exists()


@pytest.mark.usefixtures("patient_agrees")
def test_points_before_the_time_out_are_kept_and_flagged(tablet, session, units):
    assert titles(session) == []
    assert tablet.only(tablet.op("log", session, point_data(units[0])))["outcome"] == "applied"
    assert titles(session) == ["No time-out is on record."]
    tablet.send(tablet.op("time_out", session, without_pictures()))
    tablet.send(tablet.op("log", session, point_data(units[0], x_dmm=510)))
    first, second = titles(session)[0], titles(session)[1]
    assert first == "Given before the time-out."
    assert second.startswith("Not all was confirmed at")


@pytest.mark.usefixtures("patient_agrees")
def test_a_clinic_that_asks_for_none_is_told_of_none(tablet, session, units):
    ClinicPolicy.objects.create(asks_time_out=False)
    tablet.send(tablet.op("log", session, point_data(units[0])))
    assert titles(session) == []


def test_a_session_with_a_time_out_is_not_set_aside(tablet, session, patient, injector):
    other = tablet.op("time_out", session, pause())
    tablet.send(other)
    with pytest.raises(SessionNotEmpty, match="time-out"):
        set_aside_session(session=session, actor=injector)


def test_a_time_out_never_changes_and_the_signature_covers_it(tablet, session, units, injector):
    before = content_digest(session)
    tablet.send(tablet.op("time_out", session, pause()))
    assert content_digest(refreshed(session)) != before
    sign_session(session=session, remainders={units[0].pk: "wasted"}, actor=injector)
    row = TimeOutCheck.objects.first()
    with pytest.raises(IntegrityError), transaction.atomic():
        TimeOutCheck.objects.update(is_confirmed=False)
    with pytest.raises(IntegrityError), transaction.atomic():
        row.delete()
    row.pk, row.key = None, uuid.uuid4()
    with pytest.raises(IntegrityError, match="signed"), transaction.atomic():
        row.save(force_insert=True)


@pytest.mark.parametrize(
    ("fields", "name"),
    [
        ({"is_confirmed": False, "note": ""}, "time_out_says_why_not"),
        ({"item": "weather"}, "time_out_item_is_known"),
    ],
)
def test_the_database_knows_what_a_time_out_is(tablet, session, fields, name):
    tablet.send(tablet.op("time_out", session, pause()))
    row = TimeOutCheck.objects.first()
    again = TimeOutCheck.objects.get(pk=row.pk)
    again.pk = None
    with pytest.raises(IntegrityError), transaction.atomic():
        again.save(force_insert=True)
    row.pk, row.key = None, uuid.uuid4()
    for field, value in fields.items():
        setattr(row, field, value)
    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        row.save(force_insert=True)


def decided(gate, **fields) -> dict:
    return {
        "key": str(uuid.uuid4()), "gate": gate.key, "title": gate.title, "text": gate.text,
        "source": gate.source, "can_be_decided": gate.can_be_decided, "is_done": False,
        "reason": "Signed on paper", **fields,
    }  # fmt: skip


def test_a_session_started_without_network_is_kept_flagged_and_asked_why(tablet, patient, keep):
    keep(stop())
    started = start_op(tablet, patient)
    assert tablet.only(started)["outcome"] == "applied"
    session = TreatmentSession.objects.get()
    assert titles(session) == ["Consent is missing."]
    (told,) = tablet.send(wanted=[session])["sessions"][str(session.key)]["decisions"]
    assert (told["gate"], told["how"]) == ("fake-consent", "stood")
    reason = tablet.op("decide", session, decided(stop(), is_done=True))
    assert tablet.outcomes(reason, reason) == ["applied", "applied"]
    assert [row.how for row in GateDecision.objects.order_by("id")] == ["stood", "afterwards"]
    flags = shown_flags(session, [], [])
    (flag,) = [flag for flag in flags if flag.label == "Decision"]
    assert "Reason given: Signed on paper" in flag.text


def test_the_decision_comes_with_the_start(tablet, patient, keep):
    keep(stop())
    started = start_op(tablet, patient)
    reason = tablet.op("decide", started["session"], decided(stop()))
    assert tablet.outcomes(started, reason) == ["applied", "applied"]
    assert GateDecision.objects.order_by("id").last().how == "go_on"


@pytest.mark.usefixtures("patient_agrees")
def test_nobody_decides_what_cannot_be_decided(tablet, session):
    shut = stop(can_be_decided=False)
    assert tablet.only(tablet.op("decide", session, decided(shut)))["outcome"] == "applied"
    assert GateDecision.objects.get().how == "afterwards"


def test_a_decision_without_a_reason_is_refused(tablet, session):
    result = tablet.only(tablet.op("decide", session, decided(stop(), reason="")))
    assert result["outcome"] == "refused"
    assert "Write down why" in result["message"]


def test_the_day_tells_gates_and_kit(injector, patient, session, keep):
    keep(stop())
    make_emergency_item()
    day = day_json(injector, list(Patient.objects.all()), session.started_at.date())
    (told,) = day["patients"][0]["gates"]
    assert (told["key"], told["level"], told["can_be_decided"]) == ("fake-consent", "stop", True)
    assert [row["state"] for row in day["kit"]] == ["missing"]
    assert day["asks_time_out"] is True


def test_the_day_tells_what_a_time_out_reads_out(injector, patient, session):
    make_consent(injector, patient, ConsentKind.FILLER)
    make_consent(injector, patient, ConsentKind.PHOTOGRAPHS)
    make_photograph(injector, patient, taken_at=timezone.now())
    make_photograph(injector, patient, taken_at=timezone.now() - timedelta(days=2))
    (told,) = day_json(injector, [patient], timezone.localdate())["patients"]
    assert told["on_record"]["photographs"] == 1
    (consent,) = told["on_record"]["consents"]
    assert consent.startswith("Filler, until ")
