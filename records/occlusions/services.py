"""
Writing an occlusion log, and handing it over.

Each act is one transaction with its audit event. What was done in an emergency is written down
whatever else stands open; nothing here refuses a line because of something that is not settled.
"""

import hashlib
import uuid
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import IntegrityError, transaction
from django.utils import timezone

from clinic.audit.services import acting, record_read, snapshot
from clinic.policy.queries import current_policy
from clinic.printing.documents import document_html
from clinic.printing.pdf import render_pdf
from clinic.protocols.models import Protocol
from clinic.stock.enums import MovementKind, UnitState
from clinic.stock.models import UnitOfStock
from clinic.stock.services import lock_unit, take_out_of_stock
from planning.occlusion import REFILL, Entry
from records.adverse_events.enums import Grade
from records.adverse_events.models import AdverseEvent
from records.adverse_events.services import change_event, record_event
from records.occlusions.errors import OcclusionConflict, OcclusionError
from records.occlusions.models import HandoverSheet, Occlusion, OcclusionEntry
from records.occlusions.queries import Log, injected_in, log_of, logs, words_of
from records.sessions.models import TreatmentSession
from records.sessions.services.signing import add_addendum
from records.sessions.services.sittings import lock_session

# Lines that tell of signs; the rest of the log is what was done.
SEEN = frozenset({Entry.SIGNS, Entry.REFILL, Entry.PAIN, Entry.EMERGENCY})
NOT_TOLD = frozenset({Entry.PHOTO, Entry.TIMER, Entry.FIRST_SIGN, Entry.ENDED, Entry.DISCARDED})


@dataclass(frozen=True)
class Clocks:
    """When and by whom: `at` by the clinic's clock, `tablet_at` as the tablet's clock was."""

    at: datetime
    tablet_at: datetime
    by: Any


def open_log(
    *, session: TreatmentSession, key: uuid.UUID, clocks: Clocks, protocol: int | None, actor
) -> Occlusion:
    """
    Open a log once, however often it is sent.

    Args:
        protocol: number of the version that the tablet showed; None for the supplied steps.

    Raises:
        OcclusionConflict: the key was sent before for another session.
    """
    with acting(actor) as trail:
        session = lock_session(session.pk)
        if stored := Occlusion.objects.filter(key=key).first():
            if stored.session_id != session.pk:
                raise OcclusionConflict("This log was stored before, for another session.")
            return stored
        log = Occlusion.objects.create(
            session=session, key=key, received_at=timezone.now(), **vars(clocks),
            protocol=Protocol.objects.filter(number=protocol).first() if protocol else None,
        )  # fmt: skip
        after = {"session": session.pk, "at": log.at}
        trail.add("occlusion.opened", log, patient_id=session.patient_id, after=after)
    return log


def note_entry(
    *, occlusion: Occlusion, key: uuid.UUID, said: dict[str, Any], clocks: Clocks, actor
) -> OcclusionEntry:
    """
    Add one line once, however often it is sent.

    A dose from a sealed unit takes that unit out of stock. The end of the log records an adverse
    event, or writes on in the one that an earlier end recorded, and adds to a signed session.

    Args:
        said: `what` and the fields of such a line, clean; the unit as its id.

    Raises:
        OcclusionConflict: the key was sent before with other content.
        OcclusionError: the clinic has no such unit.
        planning.review_dates.ReviewDateError: a review that the adverse event asks for has no day.
    """
    with acting(actor) as trail:
        session = lock_session(occlusion.session_id)
        if stored := OcclusionEntry.objects.filter(key=key).first():
            if stored.occlusion_id != occlusion.pk or snapshot(stored, list(said)) != said:
                raise OcclusionConflict("This line was stored before with other content.")
            return stored
        unit = said.get("unit")
        fields = {name: value for name, value in said.items() if name != "unit"}
        entry = OcclusionEntry(
            occlusion=occlusion, key=key, unit_id=unit, received_at=timezone.now(), **fields,
            **vars(clocks),
        )  # fmt: skip
        if unit and entry.what == Entry.DOSE:
            _take_out(unit, occlusion, actor)
        if entry.what == Entry.ENDED:
            entry.event = _event(entry, session, actor)
        entry.save(force_insert=True)
        after = {"what": entry.what, "said": words_of(entry)}
        trail.add("occlusion.noted", occlusion, patient_id=session.patient_id, after=after)
        if entry.what == Entry.ENDED:
            _told_at_end(occlusion, session, clocks.by, actor, trail)
    return entry


def _take_out(unit_pk: int, occlusion: Occlusion, actor) -> None:
    """A vial that was given from is none that the clinic still has."""
    try:
        unit = lock_unit(unit_pk)
    except UnitOfStock.DoesNotExist as error:
        raise OcclusionError("The clinic has no such unit. Type its lot instead.") from error
    if unit.state == UnitState.IN_STOCK:
        reason = f"Given in the occlusion log of session {occlusion.session_id}"
        take_out_of_stock(unit=unit, kind=MovementKind.WRITTEN_OFF, reason=reason, actor=actor)


def _event(entry: OcclusionEntry, session: TreatmentSession, actor) -> AdverseEvent:
    log = log_of(entry.occlusion)
    placed = [line for line in log.entries if line.region]
    event = AdverseEvent(
        patient=session.patient,
        session=session,
        lot=_only_lot(session),
        region=placed[-1].region if placed else "",
        side=placed[-1].side if placed else "",
        onset_on=timezone.localdate(max(log.first_sign_at, session.started_at)),
        grade=Grade(entry.grade),
        signs=_told(log, SEEN, first="Suspected vascular occlusion", last=entry.text),
        actions=_told(log, frozenset(Entry) - SEEN - NOT_TOLD),
    )
    earlier = log.ended.event if log.ended else None
    if earlier is None:
        return record_event(event=event, actor=actor)
    if not AdverseEvent.objects.get(pk=earlier.pk).is_closed:
        event.pk, event.recorded_at, event.recorded_by = earlier.pk, earlier.recorded_at, actor
        change_event(event=event, fields=["grade", "signs", "actions"], actor=actor)
    return earlier


def _only_lot(session: TreatmentSession):
    """The lot that was given, where it was one alone; with several nobody is guessed at."""
    points = session.points.standing().select_related("unit__lot")
    lots = {point.unit.lot_id: point.unit.lot for point in points}
    return next(iter(lots.values())) if len(lots) == 1 else None


def _told(log: Log, kinds: frozenset[Entry], *, first: str = "", last: str = "") -> str:
    rows = [
        f"{timezone.localtime(entry.at):%H:%M} {entry.get_what_display()}: {words_of(entry)}"
        for entry in log.entries
        if entry.what in kinds
    ]
    return "\n".join(row.removesuffix(": ") for row in filter(None, [first, *rows, last]))


def _told_at_end(occlusion: Occlusion, session: TreatmentSession, by, actor, trail) -> None:
    """The digest of the log into the trail, and into a session that is signed already."""
    log = log_of(logs().get(pk=occlusion.pk))
    trail.add(
        "occlusion.ended", occlusion, patient_id=session.patient_id, after={"digest": log.digest}
    )
    if session.is_signed:
        began = timezone.localtime(occlusion.at)
        text = (
            f"Occlusion log of {began:%-d %b %Y, %H:%M}: {len(log.entries)} lines, hyaluronidase "
            f"{log.dose_text if log.doses else 'not given'}. Digest (SHA-256): {log.digest}."
        )
        add_addendum(
            session=session, reason="Suspected vascular occlusion", text=text, actor=actor,
            author=by,
        )  # fmt: skip


def give_out_sheet(*, occlusion: Occlusion, actor) -> bytes:
    """The handover sheet of the log as it stands, kept and given out byte for byte again."""
    log = log_of(logs().get(pk=occlusion.pk))
    patient = occlusion.session.patient_id
    sheet = _kept_sheet(log, actor)
    record_read(actor, sheet, patient_id=patient, action="occlusion.handed_over")
    return bytes(sheet.pdf)


def sheet_html(log: Log) -> str:
    """The handover sheet as the HTML that is printed."""
    session = log.occlusion.session
    content = {
        "log": log,
        "products": injected_in(session),
        "alerts": session.patient.alerts.current(),
        "refill": REFILL,
        "policy": current_policy(),
    }
    return document_html("print/handover.html", content)


def _kept_sheet(log: Log, actor) -> HandoverSheet:
    occlusion, count = log.occlusion, len(log.entries)
    if sheet := occlusion.sheets.filter(entries=count).first():
        return sheet
    # Rendered outside the transaction: it takes a good part of a second.
    pdf = render_pdf(sheet_html(log))
    try:
        with acting(actor) as trail:
            sheet = HandoverSheet.objects.create(
                occlusion=occlusion, entries=count, pdf=pdf, made_at=timezone.now(),
                digest=hashlib.sha256(pdf).hexdigest(),
            )  # fmt: skip
            trail.add(
                "occlusion.sheet_made", sheet, patient_id=occlusion.session.patient_id,
                after={"digest": sheet.digest},
            )  # fmt: skip
    except IntegrityError:
        # Somebody else made it in the meantime.
        with transaction.atomic():
            sheet = occlusion.sheets.get(entries=count)
    return sheet
