"""
The due list: 1,000,000 follow-ups of which one in two hundred is open, spread over all patients.

The first fifty rows are read as the work list shows them and as hand-written SQL gives them by the
driver alone: same rows, same columns, the partial index in mind.
"""

from datetime import date, timedelta

from django.db import connection

from clinic.staff.models import User
from records.appointments.models import Appointment
from records.patients.models import Patient
from records.reviews.models import Review
from records.reviews.queries.work_list import WorkList
from records.sessions.models import TreatmentSession
from tests.bench.building import day, fast_load, fill, moment, scaled, uuid_of
from tests.bench.results import MILLISECONDS, Result, compared, interleaved, summed_up

ROUNDS = scaled(200, 3)
SHOWN = 50
GRACE_DAYS = 7
INJECTORS = 3
SESSIONS_A_PATIENT, OPEN_ONE_IN = 10, 200
TEN_YEARS_DAYS = 3650
FIRST_DAY = date(2016, 1, 4)
TODAY = FIRST_DAY + timedelta(days=TEN_YEARS_DAYS // 2)

WORK = WorkList(on=TODAY, until=TODAY)

GOAL_TO_SQL = 3

# What a colleague would write by hand, the partial index on (due_on, id) in mind.
BY_HAND = """
SELECT r.id, r.kind, r.earliest_on, r.due_on, r.latest_on, r.moved_from, r.label, r.rule,
       s.started_at, s.injector_id, i.full_name, r.patient_id, p.record_number, p.full_name,
       p.phone, p.email, p.address, p.preferred_channel, r.appointment_id, a.state, a.starts_at
FROM records_review r
JOIN records_treatmentsession s ON s.id = r.session_id
JOIN clinic_user i ON i.id = s.injector_id
JOIN records_patient p ON p.id = r.patient_id
LEFT JOIN records_appointment a ON a.id = r.appointment_id
WHERE r.closed_at IS NULL AND r.due_on <= {mark}
ORDER BY r.due_on, r.id
LIMIT {shown}
"""


def build(count: int) -> None:
    """Fill the current database with `count` follow-ups; every third open one is booked."""
    patients = max(count // SESSIONS_A_PATIENT, 1)
    is_open = f"n % {OPEN_ONE_IN} = 0"
    is_booked = f"n % {OPEN_ONE_IN * 3} = 0"
    # Steps through the years in leaps, so that the open ones lie far apart on the disk.
    due_in_days = f"(n + n / {OPEN_ONE_IN}) * 7919 % {TEN_YEARS_DAYS}"
    with fast_load():
        fill(
            User, INJECTORS, id="n", username="'injector' || CAST(n AS text)", is_injector="TRUE",
            full_name="'Ida Injector ' || CAST(n AS text)",
        )  # fmt: skip
        fill(
            Patient, patients, id="n", record_number="'P' || CAST(n AS text)",
            full_name="'Ann Example ' || CAST(n AS text)", birth_date=day("-3650 - n % 20000"),
            phone="'07700 900' || CAST(n % 1000 AS text)",
        )  # fmt: skip
        fill(
            TreatmentSession, count, id="n", key=uuid_of("n"),
            patient_id=f"(n - 1) % {patients} + 1",
            injector_id=f"n % {INJECTORS} + 1", signed_by_id=f"n % {INJECTORS} + 1",
            started_at=moment(f"({due_in_days} - 14) * 86400"),
            signed_at=moment(f"({due_in_days} - 14) * 86400 + 1800"), signed_name="'Ida Injector'",
        )  # fmt: skip
        fill(
            Appointment, count, id="n", patient_id=f"(n - 1) % {patients} + 1",
            practitioner_id=f"n % {INJECTORS} + 1", kind="'review'",
            starts_at=moment(f"({due_in_days} + 2) * 86400"),
            state=f"CASE WHEN {is_open} THEN 'booked' ELSE 'done' END",
        )  # fmt: skip
        fill(
            Review, count, id="n", patient_id=f"(n - 1) % {patients} + 1", session_id="n",
            earliest_on=day(due_in_days), due_on=day(due_in_days),
            latest_on=day(f"{due_in_days} + {GRACE_DAYS}"),
            rule="'14 days after the session (clinic policy)'",
            appointment_id=f"CASE WHEN {is_open} AND NOT {is_booked} THEN NULL ELSE n END",
            closed_at=f"CASE WHEN {is_open} THEN NULL ELSE "
            + moment(f"({due_in_days} + 2) * 86400") + " END",
            closed_by_id=f"CASE WHEN {is_open} THEN NULL ELSE n % {INJECTORS} + 1 END",
            outcome=f"CASE WHEN {is_open} THEN '' ELSE 'done' END",
        )  # fmt: skip


def measure() -> list[Result]:
    """The list against hand-written SQL, and what the whole of it costs."""
    due = WORK.count()
    of = f"{due:,} due of {Review.objects.count():,} follow-ups"
    rows, by_hand = first_rows(), rows_by_hand()
    assert [row.pk for row in rows] == [row[0] for row in by_hand]
    assert len(rows) == min(SHOWN, due) > 0
    seconds = interleaved(ROUNDS, ours=first_rows, by_hand=rows_by_hand, counts=WORK.counts)
    return [
        compared(
            f"First {SHOWN} reviews, {of}, to SQL by hand", seconds["ours"], seconds["by_hand"],
            goal=GOAL_TO_SQL,
        ),
        summed_up(
            f"How many stand how, {of}", [1000 * taken for taken in seconds["counts"]],
            unit=MILLISECONDS,
        ),
    ]  # fmt: skip


def first_rows() -> list:
    """As the work list reads its first page."""
    return WORK[:SHOWN]


def rows_by_hand() -> list[tuple]:
    """The same answer by the driver alone, on the connection that Django uses."""
    mark = {"sqlite": "?", "postgresql": "%s"}[connection.vendor]
    day_given = {"sqlite": TODAY.isoformat(), "postgresql": TODAY}[connection.vendor]
    cursor = connection.connection.cursor()
    try:
        statement = BY_HAND.format(mark=mark, shown=SHOWN)
        return cursor.execute(statement, [day_given]).fetchall()
    finally:
        cursor.close()
