"""The clinic's kinds of appointment, each with what was decided or our defaults."""

from clinic.visit_kinds.enums import AppointmentKind
from clinic.visit_kinds.models import VisitKind

# (length, preparation before, buffer after) in minutes. Common practice, no source.
DEFAULT_MINUTES = {
    AppointmentKind.CONSULTATION: (30, 0, 0),
    AppointmentKind.TREATMENT: (45, 5, 10),
    AppointmentKind.REVIEW: (20, 0, 0),
    AppointmentKind.TOP_UP: (30, 5, 5),
    AppointmentKind.COMPLICATION_CHECK: (30, 0, 10),
    AppointmentKind.CALL: (10, 0, 0),
}


def visit_kinds() -> dict[AppointmentKind, VisitKind]:
    """All kinds in their order, with their rooms: two queries. Unsaved where nobody decided."""
    stored = {row.kind: row for row in VisitKind.objects.prefetch_related("rooms__site")}
    return {kind: stored.get(kind.value) or default_kind(kind) for kind in AppointmentKind}


def visit_kind(kind: AppointmentKind) -> VisitKind:
    """One kind as the clinic decided it, or our default, unsaved."""
    return VisitKind.objects.filter(kind=kind).first() or default_kind(kind)


def default_kind(kind: AppointmentKind) -> VisitKind:
    minutes, preparation, buffer = DEFAULT_MINUTES[kind]
    return VisitKind(
        kind=kind.value,
        minutes=minutes,
        preparation_minutes=preparation,
        buffer_minutes=buffer,
    )


def offered_kinds() -> list[AppointmentKind]:
    """Those that the clinic offers at booking, in their order; all where nobody decided."""
    withheld = set(VisitKind.objects.filter(is_active=False).values_list("kind", flat=True))
    return [kind for kind in AppointmentKind if kind.value not in withheld]
