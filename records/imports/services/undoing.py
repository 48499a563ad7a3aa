"""Undoing an import, batch by batch; who has more on record since then stays."""

from collections import defaultdict
from collections.abc import Iterable

from django.db.models import ManyToOneRel, Q
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.audit.services import Trail, snapshot
from clinic.audit.wording import act_label
from planning.imports.columns import Kind
from records.imports.enums import RowState, State
from records.imports.models import Import, ImportedTreatment, ImportRow
from records.imports.services.rows import save_rows
from records.patients.models import Alert, Patient, PatientWord
from records.patients.services import take_back_imported

AT_ONCE = 100
OWN_ACTS = (
    "patient.imported", "alert.imported", "imported_treatment.added", "imported_treatment.undone",
)  # fmt: skip
_OWN_TABLES = (ImportRow, PatientWord, Alert)
_READS = (
    Q(action="read") | Q(action__startswith="read.") | Q(action__endswith=".read")
    | Q(action__endswith="_read")
)  # fmt: skip
UNDONE_FIELDS = ["state", "problems", "patient", "made_patient", "key"]


def undo_batch(taken: Import, trail: Trail) -> None:
    """Undo the next rows; the last call says that all are."""
    rows = list(
        taken.rows.filter(state=RowState.TAKEN)
        .select_related("patient", "made_patient")
        .order_by("number")[:AT_ONCE]
    )
    if not rows:
        taken.state, taken.undone_at = State.UNDONE, timezone.now()
        taken.save(update_fields=["state", "undone_at"])
        counts = {
            state.value: taken.rows.filter(state=state).count()
            for state in (RowState.UNDONE, RowState.KEPT)
        }
        trail.add("import.undone", taken, after=counts, reason=taken.undo_reason)
        return
    since = added_since(taken, {row.patient_id for row in rows if row.patient_id})
    gone = [row for row in rows if row.patient_id not in since]
    for row in rows:
        if row.patient_id in since:
            row.state = RowState.KEPT
            row.problems = [["", f"Since then: {', '.join(sorted(since[row.patient_id]))}."]]
    _take_back(taken, gone, trail)
    save_rows([row for row in rows if row.state == RowState.KEPT], UNDONE_FIELDS)


def _take_back(taken: Import, rows: list[ImportRow], trail: Trail) -> None:
    patients = [row.made_patient for row in rows if row.made_patient]
    if taken.kind == Kind.TREATMENTS:
        _remove_treatments(rows, taken.undo_reason, trail)
    for row in rows:
        row.state, row.patient, row.made_patient, row.key = RowState.UNDONE, None, None, ""
    save_rows(rows, UNDONE_FIELDS)
    if patients:
        take_back_imported(patients=patients, reason=taken.undo_reason, actor=trail.actor)


def _remove_treatments(rows: list[ImportRow], reason: str, trail: Trail) -> None:
    treatments = ImportedTreatment.objects.filter(row__in=rows)
    fields = ["treated_on", "product", "lot", "region", "amount", "measure", "injector", "note"]
    for treatment in treatments:
        trail.add(
            "imported_treatment.undone", treatment, patient_id=treatment.patient_id,
            before=snapshot(treatment, fields), reason=reason,
        )  # fmt: skip
    treatments.delete()


def added_since(taken: Import, patients: Iterable[int]) -> dict[int, set[str]]:
    """
    What came to these patients' records after the import began, in words; nobody without anything.

    The audit trail tells of every act, and its positions need no clock. Of patients whom the import
    brought, whatever hangs on them is looked at as well.
    """
    ids = set(patients)
    found: dict[int, set[str]] = defaultdict(set)
    events = AuditEvent.objects.filter(patient_id__in=ids, id__gt=taken.begun_event or 0)
    acts = events.exclude(_READS).exclude(action__in=OWN_ACTS).order_by()
    for patient, action in acts.values_list("patient_id", "action").distinct():
        if patient is not None:
            found[patient].add(act_label(action).lower())
    if taken.kind == Kind.PATIENTS:
        for patient, words in _hanging_on(ids):
            found[patient].add(words)
    return found


def _hanging_on(ids: set[int]) -> Iterable[tuple[int, str]]:
    relations = [
        relation
        for relation in Patient._meta.get_fields(include_hidden=True)
        if isinstance(relation, ManyToOneRel) and relation.related_model not in _OWN_TABLES
    ]
    for relation in relations:
        model, field = relation.field.model, relation.field
        rows = model._base_manager.filter(**{f"{field.name}__in": ids}).order_by()
        for patient in rows.values_list(field.attname, flat=True).distinct():
            yield patient, str(model._meta.verbose_name)
