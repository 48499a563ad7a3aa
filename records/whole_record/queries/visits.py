"""When the patient was seen or was to be seen, and what reviews and adverse events came to."""

from records.adverse_events.models import AdverseEvent
from records.patients.models import Patient
from records.reviews.models import Review
from records.whole_record.queries.tables import (
    Chapter,
    Row,
    Table,
    by,
    day,
    lines,
    listed,
    moment,
    said,
)


def appointments(patient: Patient) -> Chapter:
    booked = patient.appointments.select_related("practitioner", "site", "room__site")
    visits = [
        (
            moment(row.starts_at),
            f"{row.get_kind_display()}, {row.minutes} min",
            str(row.practitioner),
            str(row.visit_site or ""),
            lines(row.get_state_display(), row.cancel_reason),
            row.note,
        )
        for row in booked.order_by("starts_at", "id")
    ]
    return Chapter(
        "appointments",
        "Appointments and waiting list",
        [
            Table(("When", "Visit", "With", "Where", "What became of it", "Note"), visits),
            Table(
                ("Waits since", "For", "Days", "Urgent", "Ended"),
                _waiting(patient),
                "Waiting list",
            ),
        ],
    )


def _waiting(patient: Patient) -> list[Row]:
    entries = patient.waiting_entries.select_related("added_by", "closed_by")
    return [
        (
            by(row.added_at, row.added_by),
            row.get_kind_display(),
            " to ".join(filter(None, [day(row.first_on), day(row.last_on)])),
            row.urgent_reason,
            lines(by(row.closed_at, row.closed_by), row.get_outcome_display(), row.reason),
        )
        for row in entries.order_by("added_at", "id")
    ]


def reviews(patient: Patient) -> Chapter:
    found = patient.reviews.select_related("session", "closed_by").prefetch_related(
        "dates__by", "records__made_by"
    )
    rows = [_review(row) for row in found.order_by("due_on", "id")]
    columns = ("Due", "Of the treatment", "By which rule", "How it ended", "Seen", "Dates set")
    return Chapter("reviews", "Reviews and outcomes", [Table(columns, rows)])


def _review(row: Review) -> Row:
    return (
        day(row.due_on),
        day(row.session.started_at),
        lines(row.label, row.rule),
        lines(row.get_outcome_display(), by(row.closed_at, row.closed_by), row.excuse) or "open",
        lines(*(f"{day(seen.seen_on)}: {seen.told}" for seen in row.records.all())),
        lines(*(f"{day(one.due_on)}: {one.reason}" for one in row.dates.all())),
    )


def adverse_events(patient: Patient) -> Chapter:
    found = patient.adverse_events.select_related(
        "session", "lot__product", "product", "unit", "recorded_by", "closed_by"
    ).prefetch_related("points", "attempts__by")
    tables = [_event(row) for row in found.order_by("onset_on", "id")]
    return Chapter("adverse-events", "Adverse events", tables)


def _event(event: AdverseEvent) -> Table:
    points = listed(f"{point.number}" for point in event.points.all())
    rows: list[Row] = [
        ("Signs", event.signs),
        ("Where", event.place),
        ("What was done", event.actions),
        ("How severe", event.get_grade_display()),
        ("How serious", event.get_seriousness_display() or "not assessed"),
        ("Product as the cause", event.get_causality_display() or "not assessed"),
        ("After the treatment of", day(event.session.started_at) if event.session else ""),
        (
            "Suspected",
            lines(
                event.suspected_product, said("Lot", event.lot and event.lot.number),
                said("Unit", event.unit and event.unit.label), said("Points", points),
            ),
        ),
        ("Outcome", event.get_outcome_display()),
        ("Next check", day(event.next_check_on)),
        ("Recorded", by(event.recorded_at, event.recorded_by)),
        ("Closed", by(event.closed_at, event.closed_by)),
        ("Tries to reach the patient", lines(*(_try(one) for one in event.attempts.all()))),
    ]  # fmt: skip
    kept = [row for row in rows if row[1]]
    return Table(("What", "As recorded"), kept, f"First signs {day(event.onset_on)}")


def _try(attempt) -> str:
    return lines(f"{by(attempt.at, attempt.by)}: {attempt}")
