"""Opening a case: the notice, what it names, the stop, the two lists."""

import hashlib
from collections.abc import Sequence
from datetime import date, datetime
from pathlib import PurePath

from django.core.exceptions import ValidationError
from django.utils import timezone

from clinic.audit.services import Trail, acting, changes, snapshot
from clinic.database.models import next_numbers
from clinic.quarantine.errors import QuarantineError
from clinic.quarantine.services import SPAN_FIELDS, check_span, place_quarantine
from records.recalls.errors import RecallError
from records.recalls.models import CaseSpan, NoticeFile, RecallCase
from records.recalls.queries.extent import extent_of
from records.recalls.services.lists import refresh_call_list, refresh_pull_list
from records.recalls.services.locking import lock_open
from records.recalls.validators import notice_type

CASE_FIELDS = [
    "number", "is_drill", "reference", "maker", "recall_class", "notice_on", "received_at", "text",
    "level", "level_percent", "expected_end_on",
]  # fmt: skip
NOTICE_FIELDS = [
    "reference", "maker", "recall_class", "notice_on", "received_at", "text", "level",
    "level_percent",
]  # fmt: skip
LONGEST_NAME = 200


def open_case(
    *,
    case: RecallCase,
    spans: Sequence[CaseSpan],
    actor,
    file: tuple[str, bytes] | None = None,
) -> RecallCase:
    """
    Open a case and stop the stock, in one act.

    From then on no tablet can open what the spans name; everybody who got something of it is on
    the call list and every unit that is still here on the pull list. A drill stops nothing.

    Args:
        case: unsaved; what the notice says.
        spans: unsaved; one number in `lot_first` or `serial_first` alone stands for itself.
        file: name and content of the notice as it came.

    Raises:
        RecallError: no span, one twice, a range that is none, or a notice from the future.
        ValidationError: the file is of no kind that is kept.
    """
    if not spans:
        raise RecallError("Say which product and which lots the notice names.")
    if case.received_at > timezone.now():
        raise RecallError("The notice cannot have come later than now.")
    with acting(actor) as trail:
        [number] = next_numbers("drill" if case.is_drill else "recall")
        case.number = f"{'D' if case.is_drill else 'R'}{number:04d}"
        case.opened_at, case.opened_by = timezone.now(), actor
        case.save()
        trail.add("recall.opened", case, after=snapshot(case, CASE_FIELDS))
        # Quarantine locks the product: always in the same order.
        for span in sorted(spans, key=lambda span: span.product_id):
            _name(case, span, trail, actor)
        if not case.is_drill:
            case.quarantined_at = timezone.now()
            case.save(update_fields=["quarantined_at"])
        if file is not None:
            attach_notice(case=case, name=file[0], content=file[1], actor=actor)
        _refresh(case, actor, at=case.opened_at)
    return case


def add_spans(*, case: RecallCase, spans: Sequence[CaseSpan], actor) -> RecallCase:
    """
    Add to what an open case names: the notice says more, or a lot that looked alike is meant.

    Raises:
        RecallError: the case names one already, or a range is none; then nothing is added.
        CaseClosed: it never changes.
    """
    with acting(actor) as trail:
        stored = lock_open(case.pk)
        for span in sorted(spans, key=lambda span: span.product_id):
            _name(stored, span, trail, actor)
        _refresh(stored, actor)
    return stored


def _name(case: RecallCase, span: CaseSpan, trail: Trail, actor) -> None:
    span.lot_last = span.lot_last or span.lot_first
    span.serial_last = span.serial_last or span.serial_first
    try:
        check_span(span.as_quarantine())
    except QuarantineError as error:
        raise RecallError(str(error)) from error
    same = {name: getattr(span, name) for name in SPAN_FIELDS}
    if case.spans.filter(**same).exists():
        raise RecallError(f"{case} names {span} already.")
    span.case = case
    if not case.is_drill:
        reason = f"{case} ({case.reference}): set it apart, do not use it."
        span.quarantine = place_quarantine(quarantine=span.as_quarantine(reason), actor=actor)
    span.save()
    trail.add("recall.lots_named", case, after={"names": str(span)})


def _refresh(case: RecallCase, actor, *, at: datetime | None = None) -> None:
    extent = extent_of(case)
    refresh_call_list(case, actor=actor, extent=extent, at=at)
    refresh_pull_list(case, actor=actor, extent=extent)


def attach_notice(*, case: RecallCase, name: str, content: bytes, actor) -> NoticeFile:
    """
    Keep a file of the notice with the case, byte by byte.

    Raises:
        RecallError: it is no PDF, JPEG or PNG, or too large.
        CaseClosed: the case never changes.
    """
    try:
        kind = notice_type(content)
    except ValidationError as error:
        raise RecallError(error.messages[0]) from error
    with acting(actor) as trail:
        file = NoticeFile.objects.create(
            case=lock_open(case.pk),
            name=PurePath(name).name[-LONGEST_NAME:] or "notice",
            content_type=kind,
            content=content,
            digest=hashlib.sha256(content).hexdigest(),
            added_at=timezone.now(),
            added_by=actor,
        )
        trail.add("recall.notice_kept", case, after=snapshot(file, ["name", "digest"]))
    return file


def correct_notice(*, case: RecallCase, reason: str, actor) -> RecallCase:
    """
    Write down anew what the notice says; what it names is added to, never corrected.

    Args:
        case: with the values as they should have been written down.
        reason: why; it stands in the case's history with what stood there before.

    Raises:
        RecallError: no reason.
        CaseClosed: the case never changes.
    """
    if not reason.strip():
        raise RecallError("Say why the notice is corrected.")
    with acting(actor) as trail:
        stored = lock_open(case.pk)
        before = snapshot(stored, NOTICE_FIELDS)
        for name in NOTICE_FIELDS:
            setattr(stored, name, getattr(case, name))
        before, after = changes(before, snapshot(stored, NOTICE_FIELDS))
        if after:
            stored.save(update_fields=NOTICE_FIELDS)
            trail.add(
                "recall.notice_corrected", stored, before=before, after=after, reason=reason.strip()
            )
    return stored


def expect_end(*, case: RecallCase, day: date | None, actor) -> RecallCase:
    """Say by when everybody will have been reached, or that it is not known any more."""
    with acting(actor) as trail:
        stored = lock_open(case.pk)
        before, stored.expected_end_on = stored.expected_end_on, day
        stored.save(update_fields=["expected_end_on"])
        trail.add(
            "recall.end_expected", stored,
            before={"expected_end_on": before}, after={"expected_end_on": day},
        )  # fmt: skip
    return stored
