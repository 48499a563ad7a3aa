"""What a note says of before and after the treatment, and when it is printed anew."""

import pytest
from django.utils import timezone

from clinic.audit.models import AuditEvent
from records.consents.models import ConsentPaper
from records.notes import services
from records.notes.afterwards import edition_of
from records.notes.services import give_out_note, note_html
from records.photographs.services.keeping import take_out_photograph
from records.sessions.models import TreatmentSession
from records.sessions.services.signing import content_digest
from tests.factories import (
    consented,
    make_consent,
    make_occlusion,
    make_occlusion_line,
    make_patient,
    make_photograph,
    make_session,
    refreshed,
)
from tests.rich_patient import live_on, make_rich_patient


@pytest.fixture
def rich(owner, injector, desk):
    return make_rich_patient(owner, injector, desk)


@pytest.fixture
def printer(monkeypatch):
    monkeypatch.setattr(services, "render_pdf", lambda html: b"%PDF " + html.encode())


def words(session) -> str:
    return " ".join(note_html(TreatmentSession.objects.get(pk=session.pk)).split())


def test_the_consents_gone_by_are_named_with_version_and_digest(rich):
    text = words(rich.session)
    paper = ConsentPaper.objects.get(consent=rich.consent)
    row = text[text.index('<th scope="row">Filler</th>') :].partition("</tr>")[0]
    day = timezone.localtime(rich.consent.given_at).strftime("%-d %b %Y, %H:%M")
    for said in ("In force", "version 1", day, paper.digest):
        assert said in row
    assert '<th scope="row">Photographs for the record</th>' in text
    assert "Hyaluronidase, elective" not in text


def test_a_later_withdrawal_or_text_leaves_what_was_gone_by(rich, injector):
    before = words(rich.session)
    make_consent(injector, rich.patient)
    assert words(rich.session) == before


def test_history_stops_photographs_and_time_out_are_told(rich, injector):
    text = words(rich.session)
    assert f"read and checked by {injector}" in text
    assert "Decided to go on: Seen last week elsewhere" in text
    assert "Front, rest; Front, frown." in text
    assert "no: Next room" in text
    assert "Oxygen: look at it.<br>1 item there." in text
    assert "After the treatment" not in text


def test_a_note_without_any_of_it_says_so(unsigned, injector, desk):
    text = words(unsigned)
    for said in ("none had been given", "Not asked yet"):
        assert said in text
    agreed = consented(injector, make_patient(desk, "Bea Example"))
    assert "none stood." in words(make_session(injector, agreed))


def test_what_came_after_is_told_with_review_and_adverse_event(rich, injector):
    live_on(rich, injector)
    text = words(rich.session)
    for said in (
        "After the treatment, as known on", "Shown as a code".lower(), "Soft, slightly swollen.",
        "2 much improved", "3 improved", "8 of 10", "Decided: wait and look again",
        "A bruise of 2 cm.", "Ice was given.",
    ):  # fmt: skip
        assert said in text


def test_the_signature_covers_what_it_covered(rich, injector):
    """Sheets, reviews, events and consents that come later do not change the digest."""
    live_on(rich, injector)
    make_consent(injector, rich.patient)
    session = TreatmentSession.objects.get(pk=rich.session.pk)
    assert content_digest(session) == session.signed_digest


def test_what_comes_after_makes_a_further_edition_and_the_first_stays(rich, injector, printer):
    first = give_out_note(session=rich.session, actor=injector)
    assert rich.session.notes.get().edition == ""
    live_on(rich, injector)
    second = give_out_note(session=refreshed(rich.session), actor=injector)
    assert b"A bruise of 2 cm." in second
    assert b"A bruise" not in first
    assert give_out_note(session=rich.session, actor=injector) == second
    assert [bytes(note.pdf) for note in rich.session.notes.order_by("id")] == [first, second]
    assert AuditEvent.objects.filter(action="note.made").count() == 2


def test_each_line_of_an_occlusion_log_makes_a_further_edition(rich):
    log = make_occlusion(rich.session)
    assert edition_of(rich.session) == ""
    make_occlusion_line(log, what="refill", refill_tenths=40, other_tenths=20)
    first = edition_of(rich.session)
    make_occlusion_line(log, what="refill", refill_tenths=20, other_tenths=20)
    assert len({"", first, edition_of(rich.session)}) == 3


def test_a_photograph_added_or_taken_out_later_makes_a_further_edition(rich, injector):
    assert edition_of(rich.session) == ""
    photograph = make_photograph(
        injector, rich.patient, session=rich.session, taken_at=timezone.now()
    )
    added = edition_of(rich.session)
    take_out_photograph(photograph=photograph, reason="Blurred", actor=injector)
    assert added
    assert edition_of(rich.session) == ""
    take_out_photograph(
        photograph=rich.session.photographs.standing().first(), reason="Blurred", actor=injector
    )
    assert edition_of(rich.session) not in ("", added)
