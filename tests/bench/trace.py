"""
The lot trace: a clinic of 1,000,000 points and one of 10,000,000, and lots that reach the same
number of points in both.

Four points use up a unit, two units a session, and a patient comes ten times over ten years. The
units of a traced lot are spread over all ten years, which is the worst case for the disk: in a real
clinic they lie close together.
"""

from collections import deque

from django.db import connection

from clinic.database.models import Counter
from clinic.products.models import Product
from clinic.staff.models import User
from clinic.stock.models import Lot, UnitOfStock
from planning.vocabulary import Aspiration, Instrument, Plane, ProductKind, Side, Technique, View
from records.patients.models import Patient
from records.sessions.models import InjectionEntry, Opening, SessionUnit, TreatmentSession
from records.trace.exports import trace_as_csv
from records.trace.queries import trace_rows
from tests.bench.building import day, fast_load, fill, instead_of_default, moment, scaled, uuid_of
from tests.bench.memory import growth_mb, python_peak_mb
from tests.bench.results import MEGABYTES, RATIO, Result, compared, interleaved, summed_up

SIZES = {"small": scaled(1_000_000, 4_000), "default": scaled(10_000_000, 8_000)}
ROUNDS = scaled(60, 2)
TEN_YEARS_S = 315_000_000
POINTS_A_UNIT, POINTS_A_SESSION, SESSIONS_A_PATIENT = 4, 8, 10
UNITS_A_LOT = 50
# Points of the lots L1, L2, ...: those that are traced.
ANSWERS = [
    scaled(100_000, 400),
    scaled(10_000, 200),
    scaled(2_000, 80),
    scaled(200, 40),
]
STREAMED, STREAMED_LESS, USUAL, FEW = ANSWERS

GOAL_TO_SQL = 1.25
GOAL_OF_GROWTH = 1.3
GOAL_OF_PEAK = 1.5

# What a colleague would write by hand, the index on point(unit) in mind.
BY_HAND = """
SELECT s.patient_id, p.record_number, p.full_name, e.session_id, s.started_at, i.full_name,
       e.number, e.region, e.side, e.plane, e.technique, e.amount, u.label, u.serial
FROM clinic_unitofstock u
JOIN records_injectionentry e ON e.unit_id = u.id
JOIN records_treatmentsession s ON s.id = e.session_id
JOIN records_patient p ON p.id = s.patient_id
JOIN clinic_user i ON i.id = s.injector_id
WHERE u.lot_id = {mark} AND e.removed_at IS NULL
ORDER BY s.started_at, e.id
"""


def build(
    count: int, answers: list[int] = ANSWERS, sessions_a_patient: int = SESSIONS_A_PATIENT
) -> None:
    """Fill the current database with `count` points; lots L1, L2 ... reach `answers` of them."""
    units, sessions = count // POINTS_A_UNIT, count // POINTS_A_SESSION
    patients = max(sessions // sessions_a_patient, 1)
    with fast_load():
        fill(
            User, 3, id="n", username="'injector' || CAST(n AS text)", is_injector="TRUE",
            full_name="'Ida Injector ' || CAST(n AS text)",
        )  # fmt: skip
        _stock(units, answers)
        fill(
            Patient, patients, id="n", record_number="'P' || CAST(n AS text)",
            full_name="'Ann Example ' || CAST(n AS text)", birth_date=day("-3650 - n % 20000"),
        )  # fmt: skip
        _sessions(sessions, patients)
        _points(count)
        for name, last in {"patient": patients, "unit": units}.items():
            Counter.objects.create(name=name, value=last)


def _stock(units: int, answers: list[int]) -> None:
    """One product, its lots, and the units, each of a traced lot or one of fifty in a row."""
    fill(
        Product, 1, id="n", name="'HA filler 1 mL'", maker="'Example Maker'",
        kind=f"'{ProductKind.HA_FILLER}'", content="1000",
    )  # fmt: skip
    others = len(answers) + 1
    fill(
        Lot, others + units // UNITS_A_LOT, id="n", product_id="1",
        number="'L' || CAST(n AS text)", expires_on=day("n % 3650 + 730"),
    )  # fmt: skip
    strides = [(number, units * POINTS_A_UNIT // size) for number, size in enumerate(answers, 1)]
    traced = " ".join(
        f"WHEN n % {stride} = {number % stride} THEN {number}" for number, stride in strides
    )
    fill(
        UnitOfStock, units, id="n", label="'U' || CAST(n AS text)", content="1000", drawn="1000",
        lot_id=f"CASE {traced} ELSE {others} + n / {UNITS_A_LOT} END", state="'opened'",
    )  # fmt: skip


def _sessions(sessions: int, patients: int) -> None:
    """Signed sessions, each with two units opened for its patient on the tray."""
    apart = TEN_YEARS_S // sessions
    fill(
        TreatmentSession, sessions, id="n", key=uuid_of("n"),
        patient_id=f"(n - 1) % {patients} + 1",
        injector_id="n % 3 + 1", started_at=moment(f"n * {apart}"),
        signed_at=moment(f"n * {apart} + 1800"), signed_by_id="n % 3 + 1",
        signed_name="'Ida Injector'",
    )  # fmt: skip
    units, session = sessions * 2, "((n - 1) / 2 + 1)"
    fill(
        Opening, units, unit_id="n", session_id=session, opened_by_id=f"{session} % 3 + 1",
        patient_id=f"({session} - 1) % {patients} + 1", opened_at=moment(f"{session} * {apart}"),
    )  # fmt: skip
    fill(SessionUnit, units, id="n", session_id=session, unit_id="n", remainder="'empty'",
         remainder_amount="0")  # fmt: skip


def _points(count: int) -> None:
    sessions = count // POINTS_A_SESSION
    session = f"((n - 1) / {POINTS_A_SESSION} + 1)"
    regions = ("zygomatic", "temple", "nasolabial", "upper_lip", "mental", "prejowl")
    fill(
        InjectionEntry, count, id="n", key=uuid_of("n"), session_id=session,
        number=f"(n - 1) % {POINTS_A_SESSION} + 1", unit_id=f"(n - 1) / {POINTS_A_UNIT} + 1",
        view=f"'{View.FRONT}'", x_dmm="n % 700", y_dmm="n % 900", chart_version="'bench'",
        region=_one_of(regions), side=_one_of([Side.LEFT, Side.RIGHT]),
        relative_x_permille="n % 1000", relative_y_permille="n % 999",
        plane=_one_of([Plane.SUBCUTANEOUS, Plane.DEEP_FAT, Plane.SUPRAPERIOSTEAL]),
        technique=_one_of([Technique.BOLUS, Technique.FANNING]),
        instrument=f"'{Instrument.NEEDLE}'", gauge="27", length_mm="13",
        aspiration=f"'{Aspiration.NEGATIVE}'", amount="250",
        tapped_at=moment(f"{session} * {TEN_YEARS_S // sessions} + n % 1800"),
        logged_by_id=f"{session} % 3 + 1",
    )  # fmt: skip


def _one_of(words) -> str:
    """SQL that takes the words in turn."""
    cases = " ".join(f"WHEN {place} THEN '{word}'" for place, word in enumerate(words))
    return f"CASE n % {len(words)} {cases} END"


def measure() -> list[Result]:
    """Trace against hand-written SQL, the large clinic against the small one, and the export."""
    return [
        *_export_memory(),
        _against_sql(FEW),
        _against_sql(USUAL),
        _growth(FEW),
        _growth(USUAL),
    ]


def lot_reaching(points: int) -> Lot:
    """The traced lot with so many points."""
    return Lot.objects.select_related("product").get(number=f"L{ANSWERS.index(points) + 1}")


def trace_by_hand(lot: Lot) -> list[tuple]:
    """The same answer by the driver alone, on the connection that Django uses."""
    mark = {"sqlite": "?", "postgresql": "%s"}[connection.vendor]
    cursor = connection.connection.cursor()
    try:
        return cursor.execute(BY_HAND.format(mark=mark), [lot.pk]).fetchall()
    finally:
        cursor.close()


def _against_sql(points: int) -> Result:
    lot = lot_reaching(points)
    assert len(trace_by_hand(lot)) == points
    seconds = interleaved(
        ROUNDS, ours=lambda: list(trace_rows(lot)), by_hand=lambda: trace_by_hand(lot)
    )
    return compared(
        f"Trace of {points:,} among {InjectionEntry.objects.count():,} points, to SQL by hand",
        seconds["ours"],
        seconds["by_hand"],
        goal=GOAL_TO_SQL,
    )


def _growth(points: int) -> Result:
    """The same size of answer in the large clinic and in the small one."""

    def trace_in(alias: str) -> None:
        with instead_of_default(alias):
            list(trace_rows(lots[alias]))

    lots = {}
    for alias in SIZES:
        with instead_of_default(alias):
            lots[alias] = lot_reaching(points)
    seconds = interleaved(
        ROUNDS, large=lambda: trace_in("default"), small=lambda: trace_in("small")
    )
    return compared(
        f"Trace of {points:,} among {SIZES['default']:,} points, to the same "
        f"among {SIZES['small']:,}",
        seconds["large"],
        seconds["small"],
        goal=GOAL_OF_GROWTH,
    )


def _export_memory() -> list[Result]:
    """Peak of Python's own memory while streaming, and how far the process grew."""
    _stream(STREAMED_LESS)
    grown = growth_mb(lambda: _stream(STREAMED))
    less, more = (
        python_peak_mb(lambda points=points: _stream(points))
        for points in (STREAMED_LESS, STREAMED)
    )
    return [
        summed_up(
            f"CSV of {STREAMED:,} points: Python's peak memory, to {STREAMED_LESS:,}",
            [more / less], unit=RATIO, goal=GOAL_OF_PEAK, note=f"{more:.2f} MB to {less:.2f} MB",
        ),
        summed_up(
            f"CSV of {STREAMED:,} points: growth of the process after {STREAMED_LESS:,}",
            [grown], unit=MEGABYTES,
        ),
    ]  # fmt: skip


def _stream(points: int) -> None:
    lot = lot_reaching(points)
    deque(trace_as_csv(lot, trace_rows(lot)), maxlen=0)
