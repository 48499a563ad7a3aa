"""Making a chart note, once for each state of a signed session."""

import hashlib

from django.db import IntegrityError, transaction
from django.utils import timezone

from clinic.audit.services import acting, record_read
from clinic.printing.documents import document_html
from clinic.printing.pdf import render_pdf
from records.notes.afterwards import edition_of
from records.notes.models import ChartNote
from records.notes.queries import note_content
from records.sessions.models import TreatmentSession


def note_html(session: TreatmentSession) -> str:
    """The note as the HTML that is printed."""
    note = note_content(session)
    return document_html("print/note.html", {"note": note, "policy": note.policy})


def give_out_note(*, session: TreatmentSession, actor) -> bytes:
    """
    The PDF of the note, and a row in the audit trail that `actor` had it.

    A signed session's note is kept and given out byte for byte again; an unsigned one is printed
    as a draft and not kept.
    """
    if not session.is_signed:
        record_read(actor, session, patient_id=session.patient_id, action="note.draft_printed")
        return render_pdf(note_html(session))
    note = _kept_note(session, actor)
    record_read(actor, note, patient_id=session.patient_id, action="note.printed")
    return bytes(note.pdf)


def _kept_note(session: TreatmentSession, actor) -> ChartNote:
    state = {"addenda": session.addenda.count(), "edition": edition_of(session)}
    if note := session.notes.filter(**state).first():
        return note
    # Rendered outside the transaction: it takes a good part of a second.
    pdf = render_pdf(note_html(session))
    try:
        with acting(actor) as trail:
            note = ChartNote.objects.create(
                session=session,
                **state,
                pdf=pdf,
                digest=hashlib.sha256(pdf).hexdigest(),
                made_at=timezone.now(),
            )
            trail.add(
                "note.made", note, patient_id=session.patient_id, after={"digest": note.digest}
            )
    except IntegrityError:
        # Somebody else made it in the meantime.
        with transaction.atomic():
            note = session.notes.get(**state)
    return note
