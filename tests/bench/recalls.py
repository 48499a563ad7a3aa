"""
The call list of a recall: a clinic of 1,000,000 points, and a lot that reached 2,000 patients.

Each of them got four points of it in one of their sessions, spread over all ten years, so that each
lies on another page of the disk. Half have been tried, one in three of those reached.
"""

from django.db import connection

from clinic.staff.models import User
from planning.names import fold
from records.patients.models import Patient
from records.recalls.enums import ContactOutcome
from records.recalls.exports import call_list_as_csv
from records.recalls.models import CaseContact, CasePatient, CaseSpan, RecallCase
from records.recalls.queries.extent import extent_of
from records.recalls.queries.people import CallList, CallRow, missing_patients
from records.sessions.models import InjectionEntry
from tests.bench import trace
from tests.bench.building import fast_load, fill, moment, scaled, sql
from tests.bench.results import MILLISECONDS, Result, compared, interleaved, summed_up

SIZES = {"default": scaled(1_000_000, 8_000)}
PEOPLE = scaled(2_000, 80)
ROUNDS = scaled(40, 2)
GOAL_MS = 1_000
RECALLED = "RECALLED"

# What a colleague would write by hand: people, then a sum for each session and product.
PEOPLE_BY_HAND = """
SELECT cp.id, p.id, p.record_number, p.full_name, p.birth_date, p.phone, p.email, p.address,
       p.preferred_channel, COUNT(c.id), MAX(c.at),
       SUM(CASE WHEN c.outcome IN ('informed', 'replied', 'declined') THEN 1 ELSE 0 END)
FROM records_casepatient cp
JOIN records_patient p ON p.id = cp.patient_id
LEFT JOIN records_casecontact c ON c.person_id = cp.id
WHERE cp.case_id = {mark}
GROUP BY cp.id, p.id
"""
GIVEN_BY_HAND = """
SELECT s.patient_id, COUNT(*), COUNT(DISTINCT s.id), SUM(e.amount), MAX(s.started_at)
FROM clinic_unitofstock u
JOIN records_injectionentry e ON e.unit_id = u.id
JOIN records_treatmentsession s ON s.id = e.session_id
WHERE u.lot_id = {mark} AND e.removed_at IS NULL
GROUP BY s.patient_id
"""


def build(count: int) -> None:
    """The trace's clinic, a lot of it recalled, and the case with its people."""
    trace.build(count, [trace.POINTS_A_UNIT])
    with fast_load():
        _lot(Patient.objects.count())
        _case(User.objects.first())


def _lot(patients: int) -> None:
    """
    One unit of each of the first patients: of the first, the second, ... of their sessions.

    A unit with an odd number is the first of the two of its session (`trace._sessions`).
    """
    session = f"(p.n + {patients} * (p.n % {trace.SESSIONS_A_PATIENT}))"
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE records_patient SET phone = '07700 ' || record_number, "
            "email = record_number || '@mail.example', address = '1 Sample Street'"
        )
        cursor.execute(
            "INSERT INTO clinic_lot (id, product_id, number, expires_on, quarantine_reason) "
            "SELECT MAX(id) + 1, 1, %s, MAX(expires_on), '' FROM clinic_lot",
            [RECALLED],
        )
        cursor.execute(
            "UPDATE clinic_unitofstock SET lot_id = (SELECT MAX(id) FROM clinic_lot) "
            f"WHERE id IN (SELECT 2 * {session} - 1 FROM ({_numbers(PEOPLE)}) p)"
        )


def _numbers(count: int) -> str:
    """SQL of the numbers 1 to `count` in a column `n`."""
    return sql(
        sqlite="WITH RECURSIVE numbers(n) AS (SELECT 1 UNION ALL SELECT n + 1 FROM numbers "
        f"WHERE n < {count}) SELECT n FROM numbers",
        postgresql=f"SELECT n FROM generate_series(1, {count}) AS numbers(n)",
    )


def _case(owner: User) -> None:
    fill(
        RecallCase, 1, id="n", number="'R0001'", reference="'FSN-1'", maker="'Example Maker'",
        notice_on="'2026-01-04'", received_at=moment("315000000"), text="'Stop.'",
        opened_at=moment("315000600"), opened_by_id=f"{owner.pk}",
    )  # fmt: skip
    fill(
        CaseSpan, 1, id="n", case_id="1", product_id="1", lot_first=f"'{RECALLED}'",
        lot_last=f"'{RECALLED}'",
    )  # fmt: skip
    fill(
        CasePatient, PEOPLE, id="n", case_id="1", patient_id="n", added_at=moment("315000600"),
    )  # fmt: skip
    fill(
        CaseContact, PEOPLE // 2, id="n", person_id="2 * n", channel="'phone'",
        outcome=f"CASE n % 3 WHEN 0 THEN '{ContactOutcome.INFORMED}' "
        f"ELSE '{ContactOutcome.NO_ANSWER}' END",
        at=moment("315003600 + n"), by_id=f"{owner.pk}",
    )  # fmt: skip


def measure() -> list[Result]:
    """The whole list, the file of it, and looking for late ones."""
    case = RecallCase.objects.get()
    assert shape(whole_list(case)) == list_by_hand(case)
    seconds = interleaved(
        ROUNDS,
        ours=lambda: whole_list(case),
        by_hand=lambda: list_by_hand(case),
        file=lambda: list(call_list_as_csv(CallList(case, extent_of(case)))),
        late=lambda: missing_patients(case, extent_of(case)),
    )
    what = f"Call list of {PEOPLE:,} patients among {InjectionEntry.objects.count():,} points"
    return [
        summed_up(
            what, _ms(seconds["ours"]), unit=MILLISECONDS, goal=GOAL_MS, judged="p95"
        ),
        compared(f"{what}, to SQL by hand", seconds["ours"], seconds["by_hand"]),
        summed_up(f"{what}, as CSV", _ms(seconds["file"]), unit=MILLISECONDS, goal=GOAL_MS,
                  judged="p95"),
        summed_up("Looking whether somebody is missing on it", _ms(seconds["late"]),
                  unit=MILLISECONDS),
    ]  # fmt: skip


def _ms(seconds: list[float]) -> list[float]:
    return [each * 1000 for each in seconds]


def whole_list(case: RecallCase) -> list[CallRow]:
    """Everybody with contact details, amounts, sessions and attempts, by name."""
    return list(CallList(case, extent_of(case)))


def shape(rows: list[CallRow]) -> list[tuple]:
    """What both answers have in common."""
    return [
        (row.contact.name, row.contact.phone, row.contact.email, row.contact.address,
         row.tried.attempts, row.tried.is_reached, row.points, row.sessions, row.amounts[0][1])
        for row in rows
    ]  # fmt: skip


def list_by_hand(case: RecallCase) -> list[tuple]:
    """The same answer by the driver alone, on the connection that Django uses."""
    mark = {"sqlite": "?", "postgresql": "%s"}[connection.vendor]
    lot = case.spans.get().lot_first
    cursor = connection.connection.cursor()
    try:
        [[lot_id]] = cursor.execute(
            f"SELECT id FROM clinic_lot WHERE number = {mark}", [lot]
        ).fetchall()
        people = cursor.execute(PEOPLE_BY_HAND.format(mark=mark), [case.pk]).fetchall()
        given = {
            row[0]: row[1:]
            for row in cursor.execute(GIVEN_BY_HAND.format(mark=mark), [lot_id]).fetchall()
        }
    finally:
        cursor.close()
    people.sort(key=lambda row: (fold(row[3]), row[0]))
    return [
        (row[3], row[5], row[6], row[7], row[9], bool(row[11]), *given[row[1]][:3])
        for row in people
    ]
