"""Writing an occlusion log: each line once, whatever else stands open, and what its end leaves."""

import hashlib
import uuid
from datetime import timedelta

import pytest
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.stock.enums import UnitState
from records.adverse_events.enums import EventOutcome
from records.adverse_events.models import AdverseEvent
from records.adverse_events.services import close_event
from records.occlusions import services
from records.occlusions.errors import OcclusionConflict
from records.occlusions.models import HandoverSheet, Occlusion, OcclusionEntry
from records.occlusions.queries import log_of, logs, running
from records.occlusions.services import give_out_sheet, note_entry, open_log
from records.sessions.enums import Remainder
from records.sessions.errors import SessionNotEmpty
from records.sessions.services.signing import content_digest, sign_session
from records.sessions.services.sittings import set_aside_session
from tests.factories import (
    clocks_of,
    make_occlusion,
    make_occlusion_line,
    make_patient,
    make_session,
    refreshed,
)
from tests.pdf import pdf_text

pytestmark = pytest.mark.django_db


def signed(session):
    (unit,) = session.tray.values_list("unit", flat=True)
    remainders = {unit: Remainder.WASTED}
    return sign_session(session=session, remainders=remainders, actor=session.injector)


def words(log) -> list[str]:
    return [line.words for line in log_of(logs().get(pk=log.pk)).lines]


def test_a_log_is_opened_once_however_often_it_is_sent(session):
    said = {"session": session, "key": uuid.uuid4(), "clocks": clocks_of(session)}
    first = open_log(protocol=None, actor=session.injector, **said)
    again = open_log(protocol=None, actor=session.injector, **said)
    assert first == again == Occlusion.objects.get()
    assert AuditEvent.objects.filter(action="occlusion.opened").count() == 1


def test_a_key_of_another_session_is_refused(log, injector, desk):
    other = make_session(injector, make_patient(desk, "Bea Example"))
    with pytest.raises(OcclusionConflict, match="another session"):
        open_log(session=other, key=log.key, clocks=clocks_of(other), protocol=None, actor=injector)


def test_a_line_is_written_once_and_other_content_is_refused(log, injector):
    said = {"occlusion": log, "key": uuid.uuid4(), "clocks": clocks_of(log.session)}
    for _ in range(2):
        note_entry(said={"what": "pain", "pain": 7}, actor=injector, **said)
    assert OcclusionEntry.objects.get().pain == 7
    with pytest.raises(OcclusionConflict, match="other content"):
        note_entry(said={"what": "pain", "pain": 3}, actor=injector, **said)


def test_lines_say_in_words_what_was_seen_and_done(log, vial):
    place = {"region": "zygomatic", "side": "left", "place": "at the mark"}
    make_occlusion_line(log, what="refill", refill_tenths=40, other_tenths=20, **place)
    make_occlusion_line(log, what="signs", signs=["pallor", "mottled"], minutes_on=1)
    dose = {"dose_centiunits": 50_000, "diluent_ul": 1_000}
    make_occlusion_line(log, what="dose", unit=vial.pk, minutes_on=2, **dose)
    make_occlusion_line(log, what="dose", lot="HY9", minutes_on=3, **dose)
    make_occlusion_line(log, what="call", whom="Eye clinic", text="On the way", minutes_on=4)
    make_occlusion_line(log, what="warmth", minutes_on=5)
    assert words(log) == [
        "4 seconds, the other side 2 seconds: slow; Zygomatic region, left; at the mark",
        "Pale or blanched, Mottled, net-like",
        f"500 units in 1 mL, Hyaluronidase 1500, unit {vial.label}, lot HY1",
        "500 units in 1 mL, lot HY9",
        "Eye clinic: On the way",
        "",
    ]
    shown = log_of(logs().get(pk=log.pk))
    assert shown.dose_text == "1,000 units"
    assert [line.is_loud for line in shown.lines] == [True, *[False] * 5]


def test_minutes_count_from_the_first_sign_as_it_was_said_last(log):
    make_occlusion_line(log, what="pain", pain=5, minutes_on=10)
    assert [line.minutes for line in log_of(refreshed(log)).lines] == [10]
    make_occlusion_line(
        log, what="first_sign", moment=log.at - timedelta(minutes=20), minutes_on=11
    )
    assert [line.minutes for line in log_of(refreshed(log)).lines] == [30, 0]


def test_a_vial_that_was_given_from_leaves_the_stock_once(log, vial):
    for minutes in (0, 60):
        make_occlusion_line(
            log, what="dose", dose_centiunits=50_000, unit=vial.pk, minutes_on=minutes
        )
    assert refreshed(vial).state == UnitState.WRITTEN_OFF
    movement = vial.movements.get(kind="written_off")
    assert movement.reason == f"Given in the occlusion log of session {log.session_id}"


def test_the_end_records_an_adverse_event_with_what_was_seen_and_done(log, vial):
    place = {"region": "zygomatic", "side": "left"}
    make_occlusion_line(log, what="refill", refill_tenths=40, **place)
    make_occlusion_line(
        log, what="dose", dose_centiunits=50_000, unit=vial.pk, minutes_on=1, **place
    )
    end = make_occlusion_line(log, what="ended", grade="2", text="Pink, refill 2 s.", minutes_on=70)
    event = AdverseEvent.objects.get()
    assert end.event == event
    assert (event.grade, event.session, event.outcome) == ("2", log.session, "ongoing")
    assert (event.region, event.side, event.lot.number) == ("zygomatic", "left", "LOT42")
    assert event.signs.splitlines()[0] == "Suspected vascular occlusion"
    assert "Capillary refill: 4 seconds: slow" in event.signs
    assert event.signs.endswith("Pink, refill 2 s.")
    assert "Hyaluronidase: 500 units" in event.actions
    assert not running().exists()


def test_a_second_end_writes_on_in_the_same_event(log):
    make_occlusion_line(log, what="ended", grade="2")
    make_occlusion_line(log, what="dose", dose_centiunits=50_000, lot="HY1", minutes_on=30)
    make_occlusion_line(log, what="ended", grade="3", minutes_on=40)
    event = AdverseEvent.objects.get()
    assert event.grade == "3"
    assert "500 units" in event.actions


def test_an_event_that_was_closed_stays_closed(log, owner):
    make_occlusion_line(log, what="ended", grade="2")
    close_event(event=AdverseEvent.objects.get(), outcome=EventOutcome.RECOVERED, actor=owner)
    make_occlusion_line(log, what="ended", grade="3", minutes_on=40)
    assert AdverseEvent.objects.get().grade == "2"


def test_one_opened_by_mistake_leaves_no_event(log):
    make_occlusion_line(log, what="discarded")
    assert not AdverseEvent.objects.exists()
    assert not running().exists()
    assert log_of(log).is_discarded


def test_what_was_logged_is_a_part_of_what_is_signed(log):
    make_occlusion_line(log, what="pain", pain=7)
    session = signed(log.session)
    digest = session.signed_digest
    assert content_digest(session) == digest
    # What comes later has a digest of its own, and leaves the signature as it was.
    make_occlusion_line(log, what="pain", pain=3, minutes_on=1)
    assert content_digest(refreshed(session)) == digest


def test_the_signature_covers_the_lines(session, monkeypatch):
    session = signed(session)
    without = content_digest(session)
    log = make_occlusion(session)
    assert content_digest(session) == without
    monkeypatch.setattr(session, "signed_at", timezone.now())
    with_log = content_digest(session)
    make_occlusion_line(log, what="pain", pain=7)
    monkeypatch.setattr(session, "signed_at", timezone.now())
    assert content_digest(session) != with_log


def test_a_log_can_be_opened_and_ended_after_the_signature_and_the_session_says_so(session):
    session = signed(session)
    log = make_occlusion(session)
    make_occlusion_line(log, what="dose", dose_centiunits=150_000, lot="HY1")
    make_occlusion_line(log, what="ended", grade="2", minutes_on=5)
    addendum = session.addenda.get()
    digest = log_of(logs().get(pk=log.pk)).digest
    assert "2 lines, hyaluronidase 1,500 units" in addendum.text
    assert digest in addendum.text
    assert digest in AuditEvent.objects.get(action="occlusion.ended").data


def test_a_session_with_a_log_is_not_set_aside(injector, desk):
    session = make_session(injector, make_patient(desk, "Bea Example"))
    make_occlusion(session)
    with pytest.raises(SessionNotEmpty, match="occlusion log"):
        set_aside_session(session=session, actor=injector)


def test_a_handover_sheet_is_kept_and_a_new_line_makes_a_new_one(log, owner, monkeypatch):
    made = []

    def render(html: str) -> bytes:
        made.append(html)
        return b"%PDF " + html.encode()

    monkeypatch.setattr(services, "render_pdf", render)
    first = give_out_sheet(occlusion=log, actor=owner)
    assert give_out_sheet(occlusion=log, actor=owner) == first
    assert len(made) == 1
    sheet = HandoverSheet.objects.get()
    assert sheet.digest == hashlib.sha256(first).hexdigest()
    assert sheet.digest in AuditEvent.objects.get(action="occlusion.sheet_made").data
    make_occlusion_line(log, what="pain", pain=7)
    assert give_out_sheet(occlusion=log, actor=owner) != first
    assert HandoverSheet.objects.count() == 2


def test_the_printed_sheet_tells_who_what_and_when(log, owner, vial):
    make_occlusion_line(log, what="dose", dose_centiunits=50_000, diluent_ul=1_000, unit=vial.pk)
    make_occlusion_line(log, what="emergency", signs=["vision"], minutes_on=3)
    text = pdf_text(give_out_sheet(occlusion=log, actor=owner))
    for told in (
        "Ann Example", "LOT42", "0.2 mL", "500 units in 1 mL", "lot HY1", "Vision lost or blurred",
        "3 min", "No alert is recorded: ask", "prescribes nothing",
        log_of(logs().get(pk=log.pk)).digest,
    ):  # fmt: skip
        assert told in text
