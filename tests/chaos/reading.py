"""What the database holds at the end of a run, as the verdict compares it."""

from collections import Counter
from io import StringIO

from django.core.management import CommandError, call_command

from clinic.audit.models import AuditEvent
from clinic.stock.enums import MovementKind
from clinic.stock.models import UnitOfStock
from records.charting.models import Operation
from records.sessions.models import InjectionEntry, Marking, TreatmentSession
from tests.chaos.verdict import Stored

# The reason that the run gives for its own waste; signing wastes remainders under another.
WASTE_REASON = "Drop to prime the needle"
CHECKS = ("verify_ledger", "verify_audit")


def read_stored() -> Stored:
    return Stored(
        operations={
            str(row.id): {
                "kind": row.kind,
                "outcome": row.outcome,
                "order": (row.received_at, row.sequence),
            }
            for row in Operation.objects.all()
        },
        points={
            str(point.key): _point(point)
            for point in InjectionEntry.objects.select_related("session")
        },
        markings={
            str(marking.key): marking.removed_at is not None for marking in Marking.objects.all()
        },
        set_aside={
            str(key)
            for key in TreatmentSession.objects.filter(set_aside_at__isnull=False).values_list(
                "key", flat=True
            )
        },
        units=_units(),
        events=Counter(AuditEvent.objects.values_list("action", flat=True)),
        faults=[fault for check in CHECKS if (fault := _fault(check))],
    )


def _point(point: InjectionEntry) -> dict:
    names = ("view", "x_dmm", "y_dmm", "plane", "technique", "instrument", "amount")
    return {
        **{name: getattr(point, name) for name in names},
        "unit": point.unit_id,
        "session": str(point.session.key),
        "removed": point.removed_at is not None,
    }


def _units() -> dict[int, dict]:
    units = {
        unit.pk: {"label": unit.label, "drawn": unit.drawn, "waste": []}
        for unit in UnitOfStock.objects.all()
    }
    wasted = UnitOfStock.objects.filter(
        movements__kind=MovementKind.WASTED, movements__reason=WASTE_REASON
    ).values_list("pk", "movements__amount")
    for pk, amount in wasted:
        units[pk]["waste"].append(amount)
    return units


def _fault(check: str) -> str:
    """What one of the tool's own checks found wrong; empty when nothing."""
    try:
        call_command(check, stdout=StringIO())
    except (CommandError, SystemExit) as problem:
        return f"{check}: {problem}"
    return ""
