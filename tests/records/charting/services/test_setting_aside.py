"""A session started by mistake, set aside from a tablet; and what another tablet did meanwhile."""

import uuid

import pytest

from records.charting.models import Operation
from records.sessions.models import TreatmentSession
from records.sessions.services.sittings import set_aside_session
from tests.factories import make_point, make_session, make_session_with_unit, make_user, refreshed
from tests.records.charting.tablet import Tablet, open_data, point_data


@pytest.fixture
def session(injector, patient):
    return make_session(injector, patient)


def start_data(patient) -> dict:
    return {"patient": patient.pk, "appointment": None, "jaw": "average"}


def test_started_and_set_aside_without_network_in_one_request(tablet, patient):
    """And the right one after them, of the same patient."""
    start = tablet.op("start", uuid.uuid4(), start_data(patient))
    aside = tablet.op("set_aside", start["session"], {}, base=start["id"])
    right = tablet.op("start", uuid.uuid4(), start_data(patient))
    assert tablet.outcomes(start, aside, right) == ["applied"] * 3
    assert tablet.outcomes(start, aside, right) == ["applied"] * 3
    wrong = TreatmentSession.objects.get(key=start["session"])
    assert (wrong.is_set_aside, str(wrong.head)) == (True, aside["id"])
    assert str(TreatmentSession.objects.unsigned().get().key) == right["session"]


def test_it_leaves_the_day_and_its_snapshot_says_so(tablet, session):
    answer = tablet.send(tablet.op("set_aside", session, {}), wanted=[session])
    assert answer["sessions"][str(session.key)]["set_aside_at"] is not None
    day = tablet.client.get("/charting/day/").json()
    assert (day["sessions"], day["patients"]) == ([], [])


def test_second_tablet_that_sets_it_aside_too_is_content(tablet, other_tablet, session):
    assert tablet.outcomes(tablet.op("set_aside", session, {})) == ["applied"]
    assert other_tablet.outcomes(other_tablet.op("set_aside", session, {})) == ["applied"]
    assert Operation.objects.filter(kind="set_aside").count() == 2


def test_session_with_a_point_by_now_is_kept(tablet, injector, patient, units):
    session = make_session_with_unit(injector, patient, units[0])
    make_point(session, units[0])
    result = tablet.only(tablet.op("set_aside", session, {}))
    assert result["outcome"] == "conflict"
    assert "holds points" in result["conflict"]["there"]
    assert result["conflict"]["choices"] == [{"act": "drop", "label": "Keep the session"}]
    assert refreshed(session).is_open


@pytest.mark.parametrize("kind", ["log", "open", "edit", "plan", "sign"])
def test_what_another_tablet_did_meanwhile_is_offered_a_new_session(
    tablet, session, units, injector, kind
):
    place = {"key": str(uuid.uuid4()), "view": "front", "x_dmm": 500, "y_dmm": 330,
             "region": "", "side": ""}  # fmt: skip
    data = {
        "log": point_data(units[0]), "open": open_data(units[0]), "edit": {"note": "Calm"},
        "plan": place, "sign": {"remainders": {}, "proof": "00"},
    }  # fmt: skip
    set_aside_session(session=session, actor=injector)
    result = tablet.only(tablet.op(kind, session, data[kind]))
    assert result["outcome"] == "conflict"
    assert "set aside as started by mistake" in result["conflict"]["there"]
    assert [way["act"] for way in result["conflict"]["choices"]] == ["anew", "drop"]
    assert not Operation.objects.exists()


def test_session_that_has_not_arrived_is_waited_for(tablet):
    assert tablet.outcomes(tablet.op("set_aside", uuid.uuid4(), {})) == ["hold"]


def test_only_whose_session_it_is_sets_it_aside(session):
    colleague = Tablet(make_user("second", is_injector=True))
    assert colleague.outcomes(colleague.op("set_aside", session, {})) == ["refused"]
    assert refreshed(session).is_open
