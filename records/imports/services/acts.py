"""What a person decides about an import: take it in, take a row in all the same, undo it."""

from django.db import IntegrityError
from django.utils import timezone

from clinic.audit.models import AuditHead
from clinic.audit.services import acting
from clinic.background.queue import tick_now
from records.imports.enums import RowState, State
from records.imports.errors import ImportRefused
from records.imports.models import Import, ImportRow
from records.imports.queries.standing import undo_until

ANOTHER_RUNS = "Another file is being taken in. Wait until it is done."


def begin(*, taken: Import, actor) -> Import:
    """
    Take in what is new. Saying it twice begins it once.

    Raises:
        ImportRefused: not looked through yet, nothing is new, or another import runs.
    """
    try:
        with acting(actor) as trail:
            stored = _locked(taken)
            if stored.now in (State.RUNNING, State.DONE):
                return stored
            if stored.now is not State.CHECKED:
                raise ImportRefused("This file is not ready to be taken in.")
            if not stored.rows.filter(state=RowState.GOOD).exists():
                raise ImportRefused("No row of this file is new.")
            stored.state, stored.begun_at, stored.begun_by = State.RUNNING, timezone.now(), actor
            # Whatever is written from here on stands behind this position.
            head = AuditHead.objects.filter(id=1).first()
            stored.begun_event = head.count if head else 0
            stored.save(update_fields=["state", "begun_at", "begun_by", "begun_event"])
            trail.add("import.begun", stored)
            tick_now()
    except IntegrityError as error:
        raise ImportRefused(ANOTHER_RUNS) from error
    return stored


def take_all_the_same(*, row: ImportRow, actor) -> None:
    """
    Somebody looked: the row is not who or what is here already.

    Raises:
        ImportRefused: the row is not one that is here already, or its import went on.
    """
    with acting(actor) as trail:
        taken = _locked(row.import_of)
        stored = ImportRow.objects.get(pk=row.pk)
        if taken.now is not State.CHECKED or stored.state not in (
            RowState.HERE,
            RowState.ALIKE,
        ):
            raise ImportRefused("This row is no longer waiting to be decided.")
        stored.is_sure, stored.state, stored.problems = True, RowState.GOOD, []
        stored.patient = None
        stored.save(update_fields=["is_sure", "state", "problems", "patient"])
        trail.add("import.row_is_another", taken, after={"row": stored.number})


def take_all_alike(*, taken: Import, actor) -> None:
    """
    Somebody looked: all rows that are only alike (part of a name and the day of birth, or name and
    telephone) are others. Those of the same name and day of birth stay out.

    Raises:
        ImportRefused: its import went on.
    """
    with acting(actor) as trail:
        stored = _locked(taken)
        if stored.now is not State.CHECKED:
            raise ImportRefused("These rows are no longer waiting to be decided.")
        alike = stored.rows.filter(state=RowState.ALIKE)
        count = alike.update(is_sure=True, state=RowState.GOOD, problems=[], patient=None)
        if count:
            trail.add("import.rows_are_others", stored, after={"rows": count})


def begin_undoing(*, taken: Import, reason: str, actor) -> Import:
    """
    Undo all that came of an import, but for patients with more on record since then.

    Raises:
        ImportRefused: no reason, nothing to undo, or too late.
    """
    if not reason.strip():
        raise ImportRefused("Say why it is undone.")
    with acting(actor) as trail:
        stored = _locked(taken)
        if stored.now in (State.UNDOING, State.UNDONE):
            return stored
        if stored.now not in (State.RUNNING, State.DONE):
            raise ImportRefused("Nothing of this file was taken in.")
        until = undo_until(stored)
        if until is not None and timezone.now() > until:
            raise ImportRefused("The time in which this import could be undone is over.")
        stored.state, stored.undone_by = State.UNDOING, actor
        stored.undo_reason = reason.strip()
        stored.save(update_fields=["state", "undone_by", "undo_reason"])
        trail.add("import.undoing", stored, reason=stored.undo_reason)
        tick_now()
    return stored


def _locked(taken: Import) -> Import:
    return Import.objects.select_for_update(of=("self",)).get(pk=taken.pk)
