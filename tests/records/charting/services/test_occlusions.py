"""The occlusion log from a tablet: once each, in any order, and after the signature too."""

import uuid
from datetime import timedelta

import pytest

from planning.occlusion import Entry
from records.adverse_events.models import AdverseEvent
from records.charting.forms.occlusions import NEEDED
from records.occlusions.models import Occlusion, OcclusionEntry
from records.sessions.services.signing import sign_session
from tests.factories import make_patient, make_protocol, make_session, make_user
from tests.records.charting.tablet import Tablet, start_op


def opened(tablet, session, protocol=None) -> dict:
    return tablet.op("occlude", session, {"key": str(uuid.uuid4()), "protocol": protocol})


def line(tablet, opening: dict, what: str, **said) -> dict:
    data = {"key": str(uuid.uuid4()), "occlusion": opening["data"]["key"], "what": what, **said}
    return tablet.op("occlusion_note", opening["session"], data)


def test_a_log_and_its_lines_are_stored_once_each(tablet, session):
    log = opened(tablet, session)
    pain = line(tablet, log, "pain", pain=7)
    assert tablet.outcomes(log, log, pain, pain) == ["applied"] * 4
    assert Occlusion.objects.get().session == session
    assert OcclusionEntry.objects.get().pain == 7
    (told,) = tablet.send(wanted=[session])["sessions"][str(session.key)]["occlusions"]
    assert told["key"] == log["data"]["key"]
    assert [(row["what"], row["pain"]) for row in told["entries"]] == [("pain", 7)]


def test_a_line_waits_for_its_log_alone(tablet, session):
    log = opened(tablet, session)
    pain = line(tablet, log, "pain", pain=7)
    assert tablet.outcomes(pain, log) == ["hold", "applied"]
    assert tablet.outcomes(pain) == ["applied"]


def test_every_line_keeps_the_tablets_time_and_the_servers(injector, session):
    tablet = Tablet(injector, slow_by=timedelta(minutes=7))
    log = opened(tablet, session)
    tablet.send(log, line(tablet, log, "warmth"))
    entry = OcclusionEntry.objects.get()
    assert abs(entry.received_at - entry.at) < timedelta(seconds=30)
    assert entry.received_at - entry.tablet_at > timedelta(minutes=6)
    assert entry.by == injector


def test_the_version_of_the_protocol_that_was_shown_is_kept(tablet, session, owner):
    protocol = make_protocol(owner)
    tablet.send(opened(tablet, session, protocol.number))
    assert Occlusion.objects.get().protocol == protocol
    told = tablet.client.get("/charting/day/").json()["protocol"]
    assert (told["version"], told["steps"][0]["title"]) == (1, "Stop")


def test_it_starts_with_a_session_that_came_without_network(tablet, injector):
    start = start_op(tablet, make_patient(injector, "Bea Example"))
    log = opened(tablet, start["session"])
    assert tablet.outcomes(start, log, line(tablet, log, "massage")) == ["applied"] * 3


def test_it_goes_on_after_the_signature(tablet, injector):
    session = make_session(injector, make_patient(injector, "Bea Example"))
    sign_session(session=session, remainders={}, actor=injector)
    log = opened(tablet, session)
    end = line(tablet, log, "ended", grade="2")
    assert tablet.outcomes(log, end) == ["applied"] * 2
    assert AdverseEvent.objects.get().session == session
    assert session.addenda.count() == 1


def test_another_injectors_session_is_not_written_in(session):
    other = Tablet(make_user("second", is_injector=True))
    assert other.only(opened(other, session))["outcome"] == "refused"


@pytest.mark.parametrize("what", NEEDED.keys())
def test_a_line_that_says_nothing_is_refused_with_a_sentence(tablet, session, what):
    log = opened(tablet, session)
    tablet.send(log)
    result = tablet.only(line(tablet, log, what))
    if NEEDED[what]:
        (message,) = NEEDED[what].values()
        assert (result["outcome"], message in result["message"]) == ("refused", True)
    else:
        assert result["outcome"] == "applied"


@pytest.mark.parametrize(
    ("said", "message"),
    [
        ({"what": "prayer"}, "Select a valid choice"),
        ({"what": "pain", "pain": 11}, "less than or equal to 10"),
        ({"what": "pain", "pain": 3, "minutes": 30}, "does not belong"),
        ({"what": "signs", "signs": "pallor,green"}, "not one that the clinic knows"),
        ({"what": "refill", "refill_tenths": 0}, "greater than or equal to 1"),
        ({"what": "timer", "minutes": 90}, "less than or equal to 60"),
        ({"what": "first_sign", "moment": "yesterday"}, "valid date/time"),
    ],
)
def test_what_no_tablet_of_ours_says_is_refused(tablet, session, said, message):
    log = opened(tablet, session)
    tablet.send(log)
    result = tablet.only(line(tablet, log, **said))
    assert result["outcome"] == "refused"
    assert message in result["message"]
    assert not OcclusionEntry.objects.exists()


def test_a_unit_the_clinic_does_not_have_is_refused(tablet, session):
    log = opened(tablet, session)
    tablet.send(log)
    dose = line(tablet, log, Entry.DOSE, dose_centiunits=50_000, unit=4711)
    assert tablet.only(dose)["outcome"] == "refused"
