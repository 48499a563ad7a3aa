"""
One batch of an import's work: look through, take in, or undo.

Each batch is one transaction behind the import's row lock. Whoever is killed leaves nothing of the
batch behind, its rows as they were, and whoever comes next (the page, the worker, both at once)
takes it up: a row is taken in once, because it says so itself in the same transaction.
"""

import time
from collections.abc import Callable

from django.utils import timezone

from clinic.audit.services import Trail, acting, snapshot
from planning.imports.columns import Kind
from planning.imports.rows import FormerPatient, FormerTreatment
from records.imports.enums import RowState, State
from records.imports.models import Import, ImportedTreatment, ImportRow
from records.imports.services.looking import Good, good_patients, good_treatments, look_at
from records.imports.services.rows import save_rows
from records.imports.services.undoing import undo_batch
from records.patients.models import Patient
from records.patients.services import register_imported

CHECKED_AT_ONCE, TAKEN_AT_ONCE = 500, 250
LOOKED_AT = ["state", "problems", "key", "born", "tail", "email", "patient"]
TAKEN_FIELDS = [*LOOKED_AT, "made_patient", "cells"]
TREATMENT_FIELDS = [
    "treated_on", "product", "lot", "region", "amount", "measure", "injector", "note",
]  # fmt: skip


def carry_on(*, taken: Import, seconds: float, is_over: Callable[[], bool] = lambda: False) -> bool:
    """
    Batch after batch until the time is up or nothing is left; whether anything is left.

    In the name of whoever uploaded, began or undid the import, whoever looks at it meanwhile.
    """
    end = time.monotonic() + seconds
    while True:
        is_left = work_on(taken)
        if not is_left or time.monotonic() >= end or is_over():
            return is_left


def work_on(taken: Import) -> bool:
    """One batch; False where nothing is to be done any more."""
    now = Import.objects.select_related("uploaded_by", "begun_by", "undone_by").get(pk=taken.pk)
    actor = {State.CHECKING: now.uploaded_by, State.RUNNING: now.begun_by}.get(
        now.now, now.undone_by
    )
    if not now.now.is_at_work:
        return False
    with acting(actor) as trail:
        stored = Import.objects.select_for_update(of=("self",)).get(pk=taken.pk)
        if stored.now is not now.now:  # somebody was quicker
            return stored.now.is_at_work
        if stored.now is State.CHECKING:
            _check(stored, trail)
        elif stored.now is State.RUNNING:
            _take(stored, trail)
        else:
            undo_batch(stored, trail)
    return True


def _next(taken: Import, state: RowState, count: int) -> list[ImportRow]:
    return list(taken.rows.filter(state=state).order_by("number")[:count])


def _check(taken: Import, trail: Trail) -> None:
    rows = _next(taken, RowState.WAITING, CHECKED_AT_ONCE)
    if not rows:
        taken.state = State.CHECKED
        taken.save(update_fields=["state"])
        trail.add("import.looked_through", taken, after=counts_of(taken))
        return
    look_at(taken, rows, today=timezone.localdate())
    save_rows(rows, LOOKED_AT)


def counts_of(taken: Import) -> dict[str, int]:
    return {
        state.value: count
        for state in RowState
        if (count := taken.rows.filter(state=state).count())
    }


def _take(taken: Import, trail: Trail) -> None:
    rows = _next(taken, RowState.GOOD, TAKEN_AT_ONCE)
    if not rows:
        taken.state, taken.done_at = State.DONE, timezone.now()
        taken.save(update_fields=["state", "done_at"])
        trail.add("import.done", taken, after=counts_of(taken))
        return
    today = timezone.localdate()
    if taken.kind == Kind.PATIENTS:
        _register(good_patients(taken, rows, today=today, is_dry=False), trail)
    else:
        _write_treatments(good_treatments(taken, rows, today=today), trail)
    save_rows(rows, TAKEN_FIELDS)


def _register(good: list[Good[FormerPatient]], trail: Trail) -> None:
    entries = [(one.patient, one.said.warning) for one in good]
    register_imported(entries=entries, actor=trail.actor)
    for one in good:
        one.row.made_patient = one.patient
        _is_taken(one.row, one.patient)


def _is_taken(row: ImportRow, patient: Patient) -> None:
    row.state, row.patient, row.cells, row.problems = RowState.TAKEN, patient, None, []


def _write_treatments(good: list[Good[FormerTreatment]], trail: Trail) -> None:
    treatments = ImportedTreatment.objects.bulk_create(
        ImportedTreatment(
            patient=one.patient, row=one.row, treated_on=one.said.treated_on,
            product=one.said.product, lot=one.said.lot, region=one.said.region,
            amount=one.said.amount, measure=one.said.measure or "", injector=one.said.injector,
            note=one.said.note, imported_at=timezone.now(), imported_by=trail.actor,
        )
        for one in good
    )  # fmt: skip
    for one in good:
        _is_taken(one.row, one.patient)
    for treatment in treatments:
        trail.add(
            "imported_treatment.added", treatment, patient_id=treatment.patient_id,
            after=snapshot(treatment, TREATMENT_FIELDS),
        )  # fmt: skip
