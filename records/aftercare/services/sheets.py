"""Giving a patient the sheet of a session: on paper, by message, or as a code on the screen."""

import hashlib
import uuid
from dataclasses import replace
from datetime import timedelta
from typing import Any

from django.utils import timezone

from clinic.access.rules import reads_clinical
from clinic.audit.services import acting
from clinic.background.queue import tick_now
from clinic.policy.queries import current_policy
from clinic.printing.documents import document_html
from clinic.printing.pdf import render_pdf
from records.aftercare.enums import Way
from records.aftercare.errors import AftercareError
from records.aftercare.models import AftercareSheet
from records.aftercare.queries import Content, content_of
from records.reminders.enums import MessageKind
from records.reminders.queries import Reach, reach, reminder_policy
from records.reminders.services.writing import new_message
from records.reminders.tokens import digest_of, token_of
from records.sessions.models import TreatmentSession

TRIED_FOR = timedelta(days=3)


def print_sheet(*, session: TreatmentSession, actor) -> AftercareSheet:
    """
    The sheet as a PDF that is kept byte for byte. Raises as `content_of`.

    Printed by who reads no clinical detail, it names no product, lot or region.
    """
    content = content_of(session, current_policy())
    if not reads_clinical(actor):
        content = replace(content, given=())
    # Rendered outside the transaction: it takes a good part of a second.
    pdf = render_pdf(sheet_html(session, content))
    digest = hashlib.sha256(pdf).hexdigest()
    return _give(session, Way.PRINTED, content, actor, pdf=pdf, digest=digest)


def show_sheet(*, session: TreatmentSession, actor) -> AftercareSheet:
    """A link of its own, to be read off the screen. Raises as `content_of`."""
    content = content_of(session, current_policy())
    reference = uuid.uuid4().hex
    return _give(
        session, Way.SHOWN, content, actor, reference=reference,
        token_digest=digest_of(token_of(reference)),
    )  # fmt: skip


def send_sheet(*, session: TreatmentSession, actor) -> Reach:
    """
    Write the patient a message with a link to the sheet; how it will go.

    Raises:
        AftercareError: messages are off, or no channel is agreed and noted; or as `content_of`.
    """
    content = content_of(session, current_policy())
    if not reminder_policy().is_on:
        raise AftercareError(
            "Messages are turned off: print the sheet or show the code. The owner turns them on "
            "under Messages."
        )
    way = reach(session.patient)
    if not way.is_written:
        raise AftercareError(
            f"No message can be sent. {way.why_not} Print the sheet or show the code."
        )
    now = timezone.now()
    with acting(actor):
        message = new_message(
            key=f"aftercare:{session.pk}:{uuid.uuid4().hex}", kind=MessageKind.AFTERCARE,
            patient_id=session.patient_id, due_at=now, until=now + TRIED_FOR, actor=actor,
        )  # fmt: skip
        message.save(force_insert=True)
        _give(session, Way.EMAIL, content, actor, message=message)
        tick_now()
    return way


def sheet_html(session: TreatmentSession, content: Content) -> str:
    """The sheet as the HTML that is printed."""
    context = {
        "session": session,
        "patient": session.patient,
        "policy": current_policy(),
        "content": content,
        "today": timezone.localdate(),
    }
    return document_html("print/aftercare.html", context)


def _give(
    session: TreatmentSession, way: Way, content: Content, actor, **what: Any
) -> AftercareSheet:
    with acting(actor) as trail:
        sheet = AftercareSheet.objects.create(
            session=session, way=way, content=content.as_json(), given_at=timezone.now(),
            given_by=actor, **what,
        )  # fmt: skip
        after = {"way": way, "digest": sheet.digest}
        trail.add(
            "aftercare.given", sheet, patient_id=session.patient_id,
            after={name: value for name, value in after.items() if value},
        )  # fmt: skip
    return sheet
