"""
A batch of operations: one transaction and one trail.

Nearly always a batch is new and every act in it fits. So it is first applied in that hope: without
looking for what was sent before, without savepoints, neighbouring points in one statement. Whatever
does not fit ends that transaction, and nothing of it is stored. Then the batch is applied with
care, each operation in a savepoint of its own.

Locks are taken in one order, so that two batches wait for each other instead of standing in each
other's way: the sessions by number, then the units by number, then what single acts need, last the
end of the audit chain. Where two still meet crosswise the database ends one; it is run again.
"""

import logging
from collections.abc import Iterable
from datetime import datetime
from itertools import groupby
from uuid import UUID

from django.db import DatabaseError, IntegrityError, OperationalError
from django.utils import timezone

from clinic.audit.services import acting
from clinic.staff.models import User
from clinic.stock.errors import StockError
from clinic.stock.models import UnitOfStock
from planning.review_dates import ReviewDateError
from records.charting.enums import Kind, Outcome
from records.charting.errors import Conflict, Hold, NotApplied, Refused
from records.charting.models import Operation
from records.charting.services.acts import ACTS, KEEPS_NO_HEAD, check_session
from records.charting.services.operations import Act, Batch, Result, SentOperation
from records.charting.services.point_acts import log_all
from records.sessions.errors import SessionError
from records.sessions.models import SessionUnit, TreatmentSession
from records.sessions.services.sittings import set_head

log = logging.getLogger(__name__)

TRIES = 4
# PostgreSQL's codes: serialization_failure, deadlock_detected.
DEADLOCKS = {"40001", "40P01"}
# Acts whose units are not all named in their data: those on the tray are locked as well.
USES_TRAY = {Kind.CHANGE, Kind.REMOVE, Kind.RESTORE, Kind.SIGN}


def apply_batch(
    *, operations: list[SentOperation], device: UUID, sent_at: datetime, sender
) -> list[Result]:
    """
    Apply what a tablet sent, in its order; each act once, however often it comes.

    Returns when everything is committed.

    Args:
        sent_at: the tablet's clock when it sent the request.
        sender: who is signed in.
    """

    def batch(*, is_hopeful: bool = False, is_last_try: bool = True) -> Batch:
        now = timezone.now()
        return Batch(
            sender=sender, device=device, skew=now - sent_at, now=now,
            is_hopeful=is_hopeful, is_last_try=is_last_try,
        )  # fmt: skip

    if not any(op.problem for op in operations):
        try:
            return _applied(batch(is_hopeful=True), operations)
        except OperationalError as error:
            if not _may_pass(error):
                raise
        except Exception as error:
            # Which operation it was, and what the tablet is told, comes out below.
            log.debug("not as hoped: %s", type(error).__name__)
    for left in reversed(range(TRIES)):
        try:
            return _applied(batch(is_last_try=not left), operations)
        except (OperationalError, IntegrityError) as error:
            # Two batches met crosswise, or the same operation came twice at once. The second time
            # the one that was quicker is there to be seen.
            if not left or not _may_pass(error):
                raise
    raise AssertionError("unreachable")


def _may_pass(error: DatabaseError) -> bool:
    """Not a full disk, a lost server, or a lock that was waited for in vain."""
    is_deadlock = getattr(error.__cause__, "sqlstate", None) in DEADLOCKS
    return isinstance(error, IntegrityError) or is_deadlock


def _applied(batch: Batch, operations: list[SentOperation]) -> list[Result]:
    with acting(batch.sender, as_one=batch.is_hopeful):
        _lock(batch, operations)
        if batch.is_hopeful:
            results = _hoped(batch, operations)
        else:
            results = [_result(batch, op) for op in operations]
        Operation.objects.bulk_create(batch.new)
    return results


def _hoped(batch: Batch, operations: list[SentOperation]) -> list[Result]:
    """All of them applied; raises whatever keeps one from it."""
    for (kind, _, _), run in groupby(operations, lambda op: (op.kind, op.session, op.author)):
        ops = list(run)
        if kind == Kind.LOG:
            log_all([_act(batch, op) for op in ops])
            for op in ops:
                _note(batch, op, batch.authors[op.author], batch.sessions[op.session])
        else:
            for op in ops:
                _apply(batch, op)
    return [Result(op.id, Outcome.APPLIED) for op in operations]


def _lock(batch: Batch, operations: list[SentOperation]) -> None:
    keys = {op.session for op in operations}
    # Patient and injector, whom most acts do not name, are read by those that do.
    sessions = TreatmentSession.objects.select_for_update().filter(key__in=keys).order_by("pk")
    batch.sessions = {session.key: session for session in sessions}
    batch.locked = {session.pk for session in sessions}
    pks = {op.data["unit"] for op in operations if "unit" in op.data}
    if any(op.kind in USES_TRAY for op in operations):
        on_trays = SessionUnit.objects.filter(session__in=batch.sessions.values())
        pks |= set(on_trays.values_list("unit", flat=True))
    if len(pks) > 1:  # of a single one its act takes the lock
        units = UnitOfStock.objects.select_for_update(no_key=True).filter(pk__in=pks)
        list(units.order_by("pk").values_list("pk", flat=True))
    named = _named(operations)
    if batch.is_hopeful:  # one that was stored shows when it is stored again
        named -= {op.id for op in operations}
    batch.known = Operation.objects.in_bulk(list(named)) if named else {}
    others = {op.author for op in operations} - {batch.sender.pk}
    batch.authors = User.objects.in_bulk(list(others)) if others else {}
    batch.authors[batch.sender.pk] = batch.sender


def _named(operations: Iterable[SentOperation]) -> set[UUID]:
    """Ids of the operations, of those they build on or stand for, and of those they give up."""
    found: set[UUID] = set()
    for op in operations:
        found |= {op.id, *filter(None, [op.base, op.instead_of, op.data.get("operation")])}
    return found


def _result(batch: Batch, op: SentOperation) -> Result:
    if known := batch.known.get(op.id):
        return _again(known, op)
    result = _tried(batch, op)
    if result.outcome != Outcome.APPLIED and op.kind == Kind.OPEN and "unit" in op.data:
        batch.unsettled_units.add((op.session, op.data["unit"]))
    return result


def _again(known: Operation, op: SentOperation) -> Result:
    """It was stored before; a tablet whose answer was lost learns so now."""
    if known.body_digest and known.body_digest != op.body_digest:
        return Result(op.id, Outcome.REFUSED, "This id was sent before with other content.")
    return Result(op.id, Outcome(known.outcome))


def _tried(batch: Batch, op: SentOperation) -> Result:
    if op.problem:
        return Result(op.id, Outcome.REFUSED, op.problem)
    try:
        with acting(batch.sender, as_one=True):
            _apply(batch, op)
    except Hold as error:
        return Result(op.id, Outcome.HOLD, str(error))
    except Conflict as error:
        return Result(op.id, Outcome.CONFLICT, str(error), error.conflict)
    except Refused as error:
        return Result(op.id, Outcome.REFUSED, str(error), error.conflict)
    except (NotApplied, SessionError, StockError, ReviewDateError) as error:
        return Result(op.id, Outcome.REFUSED, str(error))
    except OperationalError:
        raise  # the whole batch is run again, or nothing of it is stored
    except Exception as error:
        if isinstance(error, IntegrityError) and not batch.is_last_try:
            raise  # two tablets met crosswise, or it fails again and is refused alone
        # One act must not keep all others from being stored, whatever is wrong with it.
        log.exception("operation %s of kind %s does not fit the record", op.id, op.kind)
        message = "The record does not take this as it is. Give it up and do it again."
        return Result(op.id, Outcome.REFUSED, message)
    return Result(op.id, Outcome.APPLIED)


def _apply(batch: Batch, op: SentOperation) -> None:
    if op.kind == Kind.WITHDRAW:
        author, session = _author(batch, op), batch.sessions.get(op.session)
        _withdraw(batch, op, author)
    else:
        act = _act(batch, op)
        author = act.author
        session = ACTS[Kind(op.kind)](act) or batch.sessions.get(op.session)
        if session is not None:
            if op.kind not in KEEPS_NO_HEAD:
                set_head(session, op.id)
                session.head = op.id
            batch.sessions[op.session] = session
    _note(batch, op, author, session)


def _act(batch: Batch, op: SentOperation) -> Act:
    """The operation with author and session, if they may."""
    author = _author(batch, op)
    session = batch.sessions.get(op.session)
    if session is not None:
        check_session(op, session, author)
    elif op.kind != Kind.START:
        raise Hold("The start of this session has not arrived yet.")
    return Act(op, batch, author, session or TreatmentSession(started_at=batch.now))


def _note(batch: Batch, op: SentOperation, author: User, session: TreatmentSession | None) -> None:
    """Keep that it was applied."""
    row = _row(batch, op, author, session)
    batch.new.append(row)
    batch.known[op.id] = row
    if author.pk != batch.sender.pk:
        _note_handing_over(batch, row)


def _author(batch: Batch, op: SentOperation) -> User:
    """Who did it. Somebody else than the sender only if they handed it over themselves."""
    author = batch.authors.get(op.author)
    if author is None or not author.is_injector:
        raise Refused("Nobody who injects here has done this.")
    if author.pk == batch.sender.pk:
        return author
    if not op.handed_over:
        raise Refused(f"This is {author}'s, who must sign in on this tablet or hand it over.")
    if op.kind == Kind.SIGN:
        raise Refused(f"Only {author} can sign this session, and nobody can do it for them.")
    return author


def _withdraw(batch: Batch, op: SentOperation, author: User) -> None:
    """Note that an act was given up, so that it is not applied should it still arrive."""
    target = op.data["operation"]
    if target == op.id:
        raise Refused("An act cannot give itself up.")
    known = batch.known.get(target)
    if known and known.outcome == Outcome.APPLIED:
        raise Refused("This was stored already, so it cannot be given up. Change it instead.")
    if known is None:
        given_up = _row(batch, op, author, batch.sessions.get(op.session))
        given_up.id, given_up.kind, given_up.body_digest = target, "", ""
        given_up.device, given_up.outcome = None, Outcome.WITHDRAWN
        batch.new.append(given_up)
        batch.known[target] = given_up


def _row(
    batch: Batch, op: SentOperation, author: User, session: TreatmentSession | None
) -> Operation:
    return Operation(
        id=op.id,
        session=session,
        session_key=op.session,
        kind=op.kind,
        author=author,
        sent_by=batch.sender,
        device=batch.device,
        sequence=op.sequence,
        made_at=op.made_at,
        # Behind the session's lock, so that it rises in the order in which a session was written.
        received_at=timezone.now(),
        skew_ms=batch.skew_ms,
        handed_over=author.pk != batch.sender.pk,
        body_digest=op.body_digest,
        outcome=Outcome.APPLIED,
    )


def _note_handing_over(batch: Batch, row: Operation) -> None:
    with acting(batch.sender) as trail:
        trail.add(
            "operation.handed_over",
            row,
            patient_id=row.session.patient_id if row.session else None,
            after={"kind": row.kind, "author": row.author_id, "sent_by": row.sent_by_id},
        )
