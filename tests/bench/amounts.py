"""
A patient's totals by region: 1,000,000 points of patients who came 300 times each.

The sums of one patient are read as the page of amounts reads them and as hand-written SQL gives
them by the driver alone: same rows. What the page draws from them is timed against the same SQL.
"""

import random
from functools import partial

from django.db import connection

from planning.region_plots import region_plots
from records.patients.models import Patient
from records.results.queries.amounts import amounts_of
from records.sessions.models import InjectionEntry
from tests.bench import trace
from tests.bench.building import scaled
from tests.bench.results import Result, compared, interleaved

ROUNDS = scaled(60, 3)
SESSIONS_A_PATIENT = 300
# Points of a lot that nobody asks about here.
TRACED = 200
GOAL_TO_SQL = 3

# What a colleague would write by hand: the sums alone, with the day that a mark stands at.
BY_HAND = """
SELECT e.session_id, s.started_at, l.product_id, e.region, e.side, SUM(e.amount)
FROM records_treatmentsession s
JOIN records_injectionentry e ON e.session_id = s.id
JOIN clinic_unitofstock u ON u.id = e.unit_id
JOIN clinic_lot l ON l.id = u.lot_id
WHERE s.patient_id = {mark} AND e.removed_at IS NULL
GROUP BY e.session_id, s.started_at, l.product_id, e.region, e.side
"""


def build(count: int) -> None:
    """Fill the current database with `count` points, eight a session."""
    trace.build(count, [TRACED], SESSIONS_A_PATIENT)


def measure() -> list[Result]:
    """Sums to SQL by hand as a ratio, and with every mark of the page worked out."""
    chosen = random.Random(5)  # noqa: S311
    patient = chosen.choice(Patient.objects.order_by("pk"))
    sessions = patient.sessions.count()
    assert len(amounts_of(patient)) == len(sums_by_hand(patient)) > sessions
    seconds = interleaved(
        ROUNDS,
        ours=partial(amounts_of, patient),
        by_hand=partial(sums_by_hand, patient),
        page=lambda: region_plots(amounts_of(patient)),
    )
    of = f"patient of {sessions} sessions among {InjectionEntry.objects.count():,} points"
    return [
        compared(f"Sums by region, {of}, to SQL by hand", seconds["ours"], seconds["by_hand"],
                 goal=GOAL_TO_SQL),
        compared(f"Sums and plots by region, {of}, to SQL by hand", seconds["page"],
                 seconds["by_hand"]),
    ]  # fmt: skip


def sums_by_hand(patient: Patient) -> list[tuple]:
    """The same answer by the driver alone, on the connection that Django uses."""
    mark = {"sqlite": "?", "postgresql": "%s"}[connection.vendor]
    cursor = connection.connection.cursor()
    try:
        return cursor.execute(BY_HAND.format(mark=mark), [patient.pk]).fetchall()
    finally:
        cursor.close()
