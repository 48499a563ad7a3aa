"""What the database holds at the end of a run, as the verdict compares it."""

import json
from collections import Counter
from io import StringIO

from django.core.management import CommandError, call_command

from clinic.audit.models import AuditEvent
from clinic.stock.enums import MovementKind
from clinic.stock.models import StockMovement, UnitOfStock
from records.charting.models import Operation
from records.sessions.models import InjectionEntry, Marking, TreatmentSession
from tests.chaos.verdict import Stored

# The reason that the run gives for its own waste; signing wastes remainders under another.
WASTE_REASON = "Drop to prime the needle"
DRAWS = {MovementKind.DRAWN: 1, MovementKind.UNDRAWN: -1}
HELD = (
    "lot.quarantined", "lot.released", "unit.quarantined", "unit.released", "unit.on_tray",
)  # fmt: skip
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
        held=_held(),
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
        unit.pk: {
            "label": unit.label, "drawn": unit.drawn, "waste": [], "ledger": 0,
            "held": unit.is_quarantined,
        }
        for unit in UnitOfStock.objects.select_related("lot")
    }  # fmt: skip
    for row in StockMovement.objects.all():
        unit = units[row.unit_id]
        if row.kind == MovementKind.WASTED and row.reason == WASTE_REASON:
            unit["waste"].append(row.amount)
        unit["ledger"] += DRAWS.get(MovementKind(row.kind), 0) * row.amount
    return units


def _held() -> list[tuple[str, str, str]]:
    """Of an opening both the unit and its lot, whichever was stopped."""
    lot_of = {str(pk): str(lot) for pk, lot in UnitOfStock.objects.values_list("pk", "lot")}
    told = []
    for event in AuditEvent.objects.filter(action__in=HELD).order_by("id"):
        kind, what = event.action.split(".")
        if event.action != "unit.on_tray":
            told.append((what, kind, event.subject_id))
        elif "reason" not in json.loads(event.data):
            told.append(("opened", "unit", event.subject_id))
            told.append(("opened", "lot", lot_of[event.subject_id]))
    return told


def _fault(check: str) -> str:
    """What one of the tool's own checks found wrong; empty when nothing."""
    try:
        call_command(check, stdout=StringIO())
    except (CommandError, SystemExit) as problem:
        return f"{check}: {problem}"
    return ""
