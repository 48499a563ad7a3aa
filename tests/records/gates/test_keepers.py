"""
The age under which the clinic treats nobody.

England: Botulinum Toxin and Cosmetic Fillers (Children) Act 2021, c. 19, s. 1: under 18, whatever
a parent says. The day of the treatment counts, not the day it is booked on; who is born on 29
February completes a year on 1 March (the stricter reading, `planning.ages`).
"""

from datetime import UTC, date, datetime

import pytest

from clinic.policy.models import ClinicPolicy
from planning.vocabulary import ProductKind
from records.gates.keepers import age_gates
from records.gates.registry import Asked, Gate
from records.patients.enums import AlertLevel
from records.patients.models import Patient
from records.sessions.queries.gates import gates_of


def asked(born: date, on: date, *kinds: ProductKind, least: int = 18) -> list[Gate]:
    now = datetime(on.year, on.month, on.day, 12, tzinfo=UTC)
    policy, patient = ClinicPolicy(minimum_age_years=least), Patient(pk=1, birth_date=born)
    return [gate for _, gate in age_gates(Asked({patient: frozenset(kinds)}, now, policy))]


@pytest.mark.parametrize(
    ("born", "on", "stands"),
    [
        (date(2008, 12, 2), date(2026, 12, 1), True),
        (date(2008, 12, 1), date(2026, 12, 1), False),
        (date(2008, 2, 29), date(2026, 2, 28), True),
        (date(2008, 2, 29), date(2026, 3, 1), False),
        (date(1980, 5, 17), date(2026, 12, 1), False),
        # A date of birth that lies ahead is a slip, and opens nothing.
        (date(2027, 1, 1), date(2026, 12, 1), True),
    ],
)
def test_the_day_of_the_treatment_counts(born, on, stands):
    assert bool(asked(born, on)) is stands


def test_the_clinic_may_set_a_higher_age():
    (gate,) = asked(date(2006, 12, 1), date(2026, 12, 1), least=21)
    assert gate.title == "20 years old: the clinic treats from 21."


def test_nobody_decides_past_it_and_it_names_its_source():
    (gate,) = asked(date(2010, 1, 1), date(2026, 12, 1))
    assert (gate.level, gate.can_be_decided) == (AlertLevel.STOP, False)
    assert "no treatment below 18 years" in gate.source
    assert "Act 2021, c. 19" in gate.source


def test_hyaluronidase_alone_is_not_held_back_in_an_emergency():
    born, on = date(2010, 1, 1), date(2026, 12, 1)
    (gate,) = asked(born, on, ProductKind.HYALURONIDASE)
    assert (gate.level, gate.can_be_decided) == (AlertLevel.STOP, True)
    assert "in an emergency treat first" in gate.text
    (gate,) = asked(born, on, ProductKind.HYALURONIDASE, ProductKind.HA_FILLER)
    assert gate.can_be_decided is False


def test_the_stops_come_first(keep, patient):
    caution = Gate("fake", AlertLevel.CAUTION, "Look", "Look at it.", "Clinic policy")
    shut = Gate("shut", AlertLevel.STOP, "Stop", "Stop here.", "Clinic policy")
    keep(caution, shut)
    assert gates_of(patient, datetime(2026, 12, 1, tzinfo=UTC)) == [shut, caution]
