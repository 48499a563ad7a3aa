"""A signed session's note is printed once for each state, kept, and given out again."""

import hashlib
import json
import threading

import pytest
from django.db import IntegrityError, connection, transaction

from clinic.audit.models import AuditEvent
from clinic.audit.queries import verify_chain
from records.notes import services
from records.notes.models import ChartNote
from records.notes.services import give_out_note
from records.sessions.models import TreatmentSession
from records.sessions.services.signing import add_addendum
from tests.factories import refreshed
from tests.pdf import pdf_text


@pytest.fixture
def renders(monkeypatch):
    """Counts how often a PDF is made; in place of WeasyPrint, so that it is quick."""
    made = []

    def render(html: str) -> bytes:
        made.append(html)
        return b"%PDF " + html.encode()

    monkeypatch.setattr(services, "render_pdf", render)
    return made


def actions() -> list[str]:
    return list(
        AuditEvent.objects.filter(action__startswith="note.")
        .order_by("id")
        .values_list("action", flat=True)
    )


def test_a_signed_note_is_rendered_once_and_the_kept_bytes_are_given_out(signed, owner, renders):
    first = give_out_note(session=signed, actor=owner)
    assert give_out_note(session=refreshed(signed), actor=signed.injector) == first
    assert len(renders) == 1
    note = ChartNote.objects.get()
    assert (bytes(note.pdf), note.digest) == (first, hashlib.sha256(first).hexdigest())


def test_the_kept_note_stays_though_the_clinic_moves(signed, owner, policy, renders):
    first = give_out_note(session=signed, actor=owner)
    policy.name = "Another name"
    policy.save()
    assert give_out_note(session=signed, actor=owner) == first


def test_an_addendum_makes_a_new_note_and_the_old_one_stays(signed, owner, injector, renders):
    before = give_out_note(session=signed, actor=owner)
    add_addendum(session=signed, reason="Forgotten", text="Ice was given.", actor=injector)
    after = give_out_note(session=signed, actor=owner)
    assert b"Ice was given." in after
    assert b"Ice was given." not in before
    assert [bytes(note.pdf) for note in signed.notes.order_by("addenda")] == [before, after]
    assert len(renders) == 2


def test_a_draft_is_marked_and_not_kept(unsigned, owner, injector, renders):
    assert b"draft, not signed" in give_out_note(session=unsigned, actor=injector)
    give_out_note(session=unsigned, actor=owner)
    assert len(renders) == 2
    assert not ChartNote.objects.exists()
    assert actions() == ["note.draft_printed", "note.draft_printed"]


def test_making_and_each_printing_are_in_the_audit_trail(signed, owner, renders):
    give_out_note(session=signed, actor=owner)
    give_out_note(session=signed, actor=owner)
    assert actions() == ["note.made", "note.printed", "note.printed"]
    note = ChartNote.objects.get()
    made, printed, _ = AuditEvent.objects.filter(action__startswith="note.").order_by("id")
    assert json.loads(made.data)["after"] == {"digest": note.digest}
    for event in (made, printed):
        assert (event.actor, event.patient_id) == (owner, signed.patient_id)
        assert (event.subject_type, event.subject_id) == ("chartnote", str(note.pk))
    assert verify_chain().intact


@pytest.mark.parametrize("act", ["update", "delete"])
def test_the_database_refuses_to_change_or_delete_a_kept_note(signed, owner, renders, act):
    give_out_note(session=signed, actor=owner)
    notes = ChartNote.objects.all()
    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
        notes.update(pdf=b"other") if act == "update" else notes._raw_delete(notes.db)
    assert ChartNote.objects.get().pdf


def test_the_database_holds_one_note_for_each_state(signed, owner, renders):
    give_out_note(session=signed, actor=owner)
    note = ChartNote.objects.get()
    note.pk = None
    with pytest.raises(IntegrityError), transaction.atomic():
        note.save(force_insert=True)


def test_what_is_kept_is_the_note_of_the_session(corrected, owner):
    """The one test here with the true printer."""
    pdf = give_out_note(session=corrected, actor=owner)
    text = pdf_text(pdf)
    assert "Ann Example" in text
    assert "with 1 addendum" in text
    assert bytes(ChartNote.objects.get().pdf) == pdf


@pytest.mark.django_db(transaction=True)
def test_two_who_print_at_the_same_moment_get_the_same_note(signed, owner, injector, monkeypatch):
    """Both have found no note and have rendered one, different ones here, before either saves."""
    both_rendered, names = threading.Barrier(2), iter([b"%PDF one", b"%PDF two"])

    def render(html: str) -> bytes:
        pdf = next(names)
        both_rendered.wait(timeout=30)
        return pdf

    monkeypatch.setattr(services, "render_pdf", render)
    given: list[object] = []

    def give_out(actor) -> None:
        try:
            session = TreatmentSession.objects.select_related("patient").get(pk=signed.pk)
            given.append(give_out_note(session=session, actor=actor))
        except Exception as error:  # must show in the assertion, not be lost
            given.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=give_out, args=(actor,)) for actor in (owner, injector)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    kept = bytes(ChartNote.objects.get().pdf)
    assert given == [kept, kept]
    assert sorted(actions()) == ["note.made", "note.printed", "note.printed"]
