"""Asking for a whole record, making it in the background, and handing it out."""

import hashlib
from datetime import datetime

from django.db import transaction
from django.db.models import Q, QuerySet
from django.utils import timezone

from clinic.audit.services import acting, snapshot
from clinic.background.queue import tick_now
from clinic.printing.documents import document_html
from clinic.printing.pdf import PICTURES_URL, render_pdf
from records.whole_record.errors import WholeRecordError
from records.whole_record.models import GIVEN_UP_AFTER, WholeRecord
from records.whole_record.queries.record import RecordContent, record_content

ASKED_FIELDS = ["purpose", "recipient", "note"]


def ask_for(*, record: WholeRecord, actor) -> WholeRecord:
    """
    Note why a patient's record is handed out and to whom, and let the worker make it.

    Of a patient with many visits that takes longer than anybody waits for a page, and one document
    is rendered at a time in a process.

    Raises:
        WholeRecordError: it does not say who gets it.
    """
    record.recipient, record.note = record.recipient.strip(), record.note.strip()
    if not record.recipient:
        raise WholeRecordError("Say who gets the record.")
    with acting(actor) as trail:
        record.asked_at, record.asked_by = timezone.now(), actor
        record.save(force_insert=True)
        trail.add(
            "whole_record.asked", record, patient_id=record.patient_id,
            after=snapshot(record, ASKED_FIELDS),
        )  # fmt: skip
        tick_now()
    return record


def next_to_make(now: datetime | None = None) -> WholeRecord | None:
    """
    Take up the oldest that waits; None without one.

    One that another worker took up is left to it, and taken up again when that one is long over.
    """
    now = now or timezone.now()
    with transaction.atomic():
        waiting = _free(now).order_by("tries", "id")
        record = waiting.select_for_update(of=("self",)).first()
        if record is None:
            return None
        record.begun_at, record.tries = now, record.tries + 1
        record.save(update_fields=["begun_at", "tries"])
    return record


def is_anything_to_make() -> bool:
    """Whether `next_to_make` would find one; takes nothing up."""
    return _free(timezone.now()).exists()


def _free(now: datetime) -> QuerySet[WholeRecord]:
    free = Q(begun_at=None) | Q(begun_at__lt=now - GIVEN_UP_AFTER)
    return WholeRecord.objects.to_make().filter(free)


def make_waiting() -> None:
    """
    Make what was asked for, one after the other, until nothing waits.

    Raises:
        Exception: of the first that could not be made; the others come before it the next time.
    """
    while record := next_to_make():
        make(record)


def make(record: WholeRecord) -> None:
    """
    Render one that was taken up, and keep its bytes; of two that do so the first one counts.

    One that failed is free again, and so is one that was stopped, which is no failed try.
    """
    try:
        pdf = render(record_content(record))
    except BaseException as error:
        tries = record.tries if isinstance(error, Exception) else record.tries - 1
        unmade = WholeRecord.objects.filter(pk=record.pk, made_at__isnull=True)
        unmade.update(begun_at=None, tries=tries)
        raise
    with acting(None) as trail:
        stored = WholeRecord.objects.select_for_update(of=("self",)).get(pk=record.pk)
        if stored.is_made:
            return
        stored.pdf, stored.digest = pdf, hashlib.sha256(pdf).hexdigest()
        stored.made_at = timezone.now()
        stored.save(update_fields=["pdf", "digest", "made_at"])
        trail.add(
            "whole_record.made", stored, patient_id=stored.patient_id,
            after={"digest": stored.digest},
        )  # fmt: skip


def render(content: RecordContent) -> bytes:
    """The record as PDF."""
    context = {"record": content, "policy": content.policy, "pictures": PICTURES_URL}
    html = document_html("print/whole_record.html", context)
    return render_pdf(html, pictures=content.album.picture)


def hand_out(*, record: WholeRecord, actor) -> bytes:
    """
    The PDF, and a row in the audit trail that `actor` had it.

    Raises:
        WholeRecordError: it is not made yet.
    """
    if record.pdf is None:
        raise WholeRecordError("The record is still being made. Wait until it is ready.")
    with acting(actor) as trail:
        trail.add(
            "whole_record.handed_out", record, patient_id=record.patient_id,
            after={"digest": record.digest},
        )  # fmt: skip
    return bytes(record.pdf)
