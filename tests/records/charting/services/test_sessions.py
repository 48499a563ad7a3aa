"""Starting, editing, signing and adding to a session from a tablet."""

import hashlib
import uuid
from datetime import UTC, datetime, timedelta

import pytest
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.stock.enums import MovementKind
from clinic.stock.models import StockMovement
from records.charting.models import Operation
from records.reviews.models import Review
from records.sessions.models import TreatmentSession
from records.sessions.services.signing import content_digest, sign_session
from tests.factories import (
    make_appointment,
    make_patient,
    make_point,
    make_session,
    make_user,
    refreshed,
)
from tests.records.charting.tablet import (
    Tablet,
    open_data,
    point_data,
    sign_op,
    stamp,
    start_op,
)


def test_session_starts_under_the_key_of_the_tablet(tablet, patient, injector, desk):
    booked = make_appointment(desk, patient, injector, "2030-01-07 10:00")
    op = start_op(tablet, patient, appointment=booked.pk, jaw="broader")
    assert tablet.outcomes(op, op) == ["applied", "applied"]
    session = TreatmentSession.objects.get()
    assert (str(session.key), str(session.head)) == (op["session"], op["id"])
    assert (session.patient, session.injector) == (patient, injector)
    assert (session.appointment, session.jaw, session.late_reason) == (booked, "broader", "")
    assert Operation.objects.get().session == session


def test_whole_session_comes_in_one_request(tablet, patient, units, code):
    start = start_op(tablet, patient)
    key = start["session"]
    opening = tablet.op("open", key, open_data(units[0]), base=start["id"])
    points = [tablet.op("log", key, point_data(units[0], amount=100)) for _ in range(3)]
    sign = sign_op(tablet, key, {str(units[0].pk): "wasted"}, base=opening["id"])
    assert tablet.outcomes(start, opening, *points, sign) == ["applied"] * 6
    session = TreatmentSession.objects.get()
    assert session.is_signed
    assert session.points.count() == 3
    assert Review.objects.filter(session=session).count() == 1
    assert content_digest(session) == session.signed_digest
    assert tablet.outcomes(start, opening, *points, sign) == ["applied"] * 6


def test_start_carries_its_hour_over_a_wrong_clock(injector, patient):
    tablet = Tablet(injector, slow_by=timedelta(hours=3))
    op = start_op(tablet, patient, made_at=tablet.now() - timedelta(minutes=10))
    tablet.only(op)
    began = TreatmentSession.objects.get().started_at
    assert abs(timezone.now() - timedelta(minutes=10) - began) < timedelta(minutes=1)


def test_start_of_an_earlier_day_says_when_it_came(tablet, patient):
    op = start_op(tablet, patient, made_at=timezone.now() - timedelta(days=2))
    tablet.only(op)
    today = timezone.localdate()
    session = TreatmentSession.objects.get()
    said = f"Charted on the tablet without network, received {today.day} {today:%B %Y}"
    assert session.late_reason == said
    assert timezone.localdate(session.started_at) == today - timedelta(days=2)


@pytest.mark.parametrize("away", [timedelta(days=8), timedelta(days=-1)])
def test_start_that_cannot_be_then_is_now(tablet, patient, away):
    before = timezone.now()
    tablet.only(start_op(tablet, patient, made_at=before - away))
    session = TreatmentSession.objects.get()
    assert before <= session.started_at <= timezone.now()
    assert session.late_reason == ""


def test_own_unsigned_session_is_offered_to_go_on_in(tablet, session):
    result = tablet.only(start_op(tablet, session.patient))
    assert result["outcome"] == "conflict"
    conflict = result["conflict"]
    assert (conflict["about"], conflict["existing"]) == ("session", str(session.key))
    assert [way["act"] for way in conflict["choices"]] == ["again", "drop"]
    assert TreatmentSession.objects.count() == 1


def test_colleagues_unsigned_session_stands_in_the_way(tablet, patient):
    make_session(make_user("second", is_injector=True), patient)
    result = tablet.only(start_op(tablet, patient))
    assert result["outcome"] == "conflict"
    assert "has not signed" in result["conflict"]["there"]
    assert [way["act"] for way in result["conflict"]["choices"]] == ["drop"]


def test_appointment_that_is_taken_can_be_left_out(tablet, desk, injector, patient):
    other = make_appointment(desk, make_patient(desk, "Bo Li"), injector, "2030-01-07 10:00")
    for appointment in (other.pk, 999_999):
        result = tablet.only(start_op(tablet, patient, appointment=appointment))
        assert result["outcome"] == "conflict"
        assert result["conflict"]["data"] == {"appointment": None}
    assert not TreatmentSession.objects.exists()


def test_unknown_patient_is_refused(tablet, patient):
    op = start_op(tablet, patient)
    op["data"]["patient"] = 999_999
    assert "no such patient" in tablet.only(op)["message"]


def test_handed_over_start_is_the_authors_session(injector, patient):
    colleague = Tablet(make_user("second", is_injector=True))
    op = start_op(colleague, patient) | {"author": injector.pk, "handed_over": True}
    assert colleague.only(op)["outcome"] == "applied"
    assert TreatmentSession.objects.get().injector == injector


def test_edit_changes_only_what_it_names(tablet, session):
    note = tablet.op("edit", session, {"note": "Calm"})
    measures = {"pupil_dmm": 640, "face_height_dmm": 1200, "face_width_dmm": None}
    size = tablet.op("edit", session, measures, base=note["id"])
    assert tablet.outcomes(note, size) == ["applied", "applied"]
    stored = refreshed(session)
    assert (stored.note, stored.pupil_dmm, stored.face_height_dmm) == ("Calm", 640, 1200)
    assert str(stored.head) == size["id"]
    told = tablet.send(wanted=[session])["sessions"][str(session.key)]
    # 640 / 617 (pupils, mean of the chart) and 1200 / 1114 (nasion to gnathion), in thousandths.
    assert told["fit"] == {"x": 1037, "y": 1077}


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        ({}, "Nothing was changed"),
        ({"jaw": "square"}, "“square” is not a outline"),
        ({"jaw": None}, "Choose the outline"),
        ({"pupil_dmm": 64}, "Measure again"),
        ({"face_width_dmm": 20_001}, "less than or equal"),
    ],
)
def test_edit_that_cannot_be_is_refused(tablet, session, data, sentence):
    result = tablet.only(tablet.op("edit", session, data))
    assert (result["outcome"], sentence in result["message"]) == ("refused", True), result


def test_outline_stays_while_points_are_on_it(tablet, session, units):
    make_point(session, units[0])
    result = tablet.only(tablet.op("edit", session, {"jaw": "broader"}))
    assert "outline stays" in result["message"]


def test_note_of_two_tablets_lets_a_person_choose(tablet, other_tablet, session):
    theirs = other_tablet.op("edit", session, {"note": "Theirs"})
    other_tablet.only(theirs)
    mine = tablet.op("edit", session, {"note": "Mine"})
    result = tablet.only(mine)
    assert result["outcome"] == "conflict"
    assert "Mine" in result["conflict"]["here"]
    assert "Theirs" in result["conflict"]["there"]
    assert refreshed(session).note == "Theirs"
    again = tablet.op("edit", session, {"note": "Mine"}, base=theirs["id"])
    assert tablet.only(again)["outcome"] == "applied"


def test_note_goes_on_beside_another_tablets_opening(tablet, other_tablet, session, units):
    other_tablet.only(other_tablet.op("open", session, open_data(units[1])))
    assert tablet.only(tablet.op("edit", session, {"note": "Mine"}))["outcome"] == "applied"


def test_code_of_the_tablet_signs(tablet, session, units, code, injector):
    make_point(session, units[0])
    op = sign_op(tablet, session, {str(units[0].pk): "kept"})
    assert tablet.outcomes(op, op) == ["applied", "applied"]
    stored = refreshed(session)
    assert (stored.signed_by, str(stored.head)) == (injector, op["id"])
    assert stored.signature_made_at is None
    assert stored.tray.get().remainder == "kept"


def test_signature_that_comes_late_says_when_it_was_made(tablet, session, units, code):
    an_hour_ago = timezone.now() - timedelta(hours=1)
    TreatmentSession.objects.filter(pk=session.pk).update(
        started_at=an_hour_ago - timedelta(minutes=30)
    )
    op = sign_op(tablet, session, {str(units[0].pk): "wasted"}, made_at=stamp(an_hour_ago))
    assert tablet.only(op)["outcome"] == "applied"
    stored = refreshed(session)
    assert abs(stored.signature_made_at - an_hour_ago) < timedelta(seconds=5)
    assert stored.signed_at - stored.signature_made_at > timedelta(minutes=59)
    assert content_digest(stored) == stored.signed_digest


@pytest.mark.parametrize("how", ["another code", "no code", "another operation", "handed over"])
def test_signature_of_nobody_signs_nothing(tablet, session, units, code, how):
    remainders = {str(units[0].pk): "wasted"}
    op = sign_op(tablet, session, remainders)
    if how == "another code":
        op = sign_op(tablet, session, remainders, key="ab" * 32)
    elif how == "no code":
        code.delete()
    elif how == "another operation":
        op["id"] = str(uuid.uuid4())
    else:
        colleague = Tablet(make_user("second", is_injector=True))
        colleague.device = tablet.device  # the one that knows the injector's code
        tablet, op = colleague, op | {"handed_over": True}
    assert tablet.only(op)["outcome"] == "refused"
    assert not refreshed(session).is_signed


@pytest.mark.parametrize("remainders", [{}, {"1": "shared"}, None, {"x": "wasted"}, "wasted"])
def test_remainders_that_do_not_fit_are_asked_for_again(tablet, session, units, code, remainders):
    make_point(session, units[0])
    result = tablet.only(sign_op(tablet, session, remainders))
    assert result["outcome"] in {"conflict", "refused"}
    assert not refreshed(session).is_signed
    if not remainders:
        assert [way["act"] for way in result["conflict"]["choices"]] == ["edit"]
        assert f"rest of unit {units[0].label}" in result["conflict"]["there"]


def test_signature_that_stops_halfway_leaves_nothing_behind(tablet, session, units, code):
    """The first unit's rest is written off before the second one's is found to be missing."""
    tablet.only(tablet.op("open", session, open_data(units[1])))
    assert tablet.outcomes(sign_op(tablet, session, {str(units[0].pk): "wasted"})) == ["conflict"]
    assert refreshed(units[0]).wasted == 0
    assert not StockMovement.objects.filter(kind=MovementKind.WASTED).exists()
    assert not AuditEvent.objects.filter(action="unit.wasted").exists()


def test_what_another_tablet_brought_unseen_is_not_signed(
    tablet, other_tablet, session, units, code
):
    seen = stamp(timezone.now())
    remainders = {str(units[0].pk): "wasted"}
    other_tablet.only(other_tablet.op("log", session, point_data(units[0])))
    op = sign_op(tablet, session, remainders)
    op["data"]["seen"] = seen
    result = tablet.only(op)
    assert result["outcome"] == "conflict"
    assert "One entry from another tablet" in result["conflict"]["there"]
    assert not refreshed(session).is_signed
    op = sign_op(tablet, session, remainders)
    op["data"]["seen"] = tablet.send(wanted=[session])["sessions"][str(session.key)]["checked_at"]
    assert tablet.only(op)["outcome"] == "applied"


def test_addendum_after_signing_by_a_colleague_too(tablet, session, units, injector):
    point = make_point(session, units[0])
    sign_session(session=session, remainders={units[0].pk: "wasted"}, actor=injector)
    data = {"reason": "Slip", "text": "It was 0.1 mL.", "point": str(point.key)}
    op = tablet.op("addendum", session, data)
    assert tablet.outcomes(op, op) == ["applied", "applied"]
    colleague = Tablet(make_user("second", is_injector=True))
    more = colleague.op("addendum", session, {"reason": "Why", "text": "What", "point": None})
    assert colleague.only(more)["outcome"] == "applied"
    assert [row.author for row in session.addenda.all()] == [injector, colleague.user]


def test_addendum_handed_over_is_its_authors(session, units, injector):
    """It was printed in the name of whoever brought it."""
    sign_session(session=session, remainders={units[0].pk: "wasted"}, actor=injector)
    colleague = Tablet(make_user("second", is_injector=True))
    data = {"reason": "Why", "text": "What", "point": None}
    op = colleague.op("addendum", session, data, author=injector.pk, handed_over=True)
    assert colleague.outcomes(op) == ["applied"]
    assert session.addenda.get().author == injector
    assert AuditEvent.objects.get(action="addendum.written").actor == colleague.user


def test_addendum_of_an_unsigned_session_is_refused(tablet, session):
    data = {"reason": "Why", "text": "What", "point": None}
    result = tablet.only(tablet.op("addendum", session, data))
    assert "not signed yet" in result["message"]


@pytest.mark.usefixtures("patient_agrees")
def test_session_signed_before_keeps_its_digest(session, units, injector):
    """The digest as it was before photographs, reach and measures, written out by hand here."""
    import json

    from django.core.serializers.json import DjangoJSONEncoder

    point = make_point(session, units[0])
    signed = sign_session(session=session, remainders={units[0].pk: "wasted"}, actor=injector)
    signed.signed_flags = None  # kept since then
    was = {
        "session": {
            "patient": session.patient_id, "injector": injector.pk, "appointment": None,
            "started_at": session.started_at, "late_reason": "", "jaw": "average", "note": "",
        },
        "points": [
            {
                "key": point.key, "number": 1, "unit": units[0].pk, "view": "front", "x_dmm": 500,
                "y_dmm": 330, "region": "zygomatic", "side": "left", "plane": "supraperiosteal",
                "technique": "bolus", "instrument": "needle", "gauge": 27, "length_mm": 13,
                "aspiration": "negative", "amount": 200, "deviation": "",
            }
        ],
        "tray": [
            {
                "unit": units[0].pk, "deviation": "", "remainder": "wasted",
                "remainder_amount": 800,
            }
        ],
        "signed": {
            "signed_at": signed.signed_at, "signed_by": injector.pk,
            "signed_name": "Ida Injector",
        },
    }  # fmt: skip
    text = json.dumps(was, cls=DjangoJSONEncoder, sort_keys=True, ensure_ascii=False)
    assert hashlib.sha256(text.encode()).hexdigest() == content_digest(signed)


@pytest.mark.parametrize("what", ["reach", "measure", "marking"])
def test_digest_covers_what_came_later(tablet, session, units, injector, what):
    point = make_point(session, units[0], reach_x_dmm=0, reach_y_dmm=0)
    tablet.only(
        tablet.op("plan", session, {"key": str(uuid.uuid4()), "view": "front", "x_dmm": 500,
                                    "y_dmm": 330, "region": "", "side": ""})
    )  # fmt: skip
    before = content_digest(refreshed(session))
    if what == "reach":
        type(point).objects.filter(pk=point.pk).update(reach_x_dmm=1)
    elif what == "measure":
        TreatmentSession.objects.filter(pk=session.pk).update(pupil_dmm=640)
    else:
        session.markings.update(x_dmm=501)
    assert content_digest(refreshed(session)) != before


def test_times_are_kept_in_utc(tablet, patient):
    tablet.only(start_op(tablet, patient))
    session = TreatmentSession.objects.get()
    assert session.started_at.utcoffset() == datetime.now(UTC).utcoffset()
