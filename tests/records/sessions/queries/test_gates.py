"""What stands before the needle, asked for many patients at once and by what their plans give."""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from clinic.policy.models import ClinicPolicy
from planning.vocabulary import ProductKind
from records.consents.keepers import consent_gates
from records.gates.keepers import age_gates
from records.gates.registry import Asked
from records.photographs.keepers import photograph_gates
from records.plans.queries.plans import kinds_planned
from records.plans.services.lines import add_copies
from records.plans.services.plans import add_stage
from records.screening.keepers import history_gates
from records.screening.services.histories import check_history
from records.sessions.queries.gates import gates_of, gates_of_patients
from records.sessions.services.signing import sign_session
from tests.factories import (
    consented,
    make_line,
    make_patient,
    make_photograph,
    make_plan,
    make_product,
    make_session,
)
from tests.records.screening.histories import YES, make_history

pytestmark = pytest.mark.django_db
FILLER, TOXIN = ProductKind.HA_FILLER, ProductKind.TOXIN


@pytest.fixture
def dozen(injector, desk):
    """Twelve planned ones with a consent, a history that raised a stop, and a photograph."""
    filler, patients = make_product(), []
    for number in range(12):
        patient = consented(injector, make_patient(desk, f"Patient {number}"))
        make_plan(injector, patient, filler)
        check_history(form=make_history(injector, patient, occlusion=YES), actor=injector)
        patients.append(patient)
    make_photograph(injector, patients[0], taken_at=timezone.now())
    return patients


def queries_of(act) -> int:
    with CaptureQueriesContext(connection) as queries:
        act()
    return len(queries)


@pytest.mark.parametrize(
    ("keeper", "most"),
    [(age_gates, 0), (consent_gates, 3), (history_gates, 3), (photograph_gates, 2)],
)
def test_a_keeper_takes_the_queries_of_one_patient_for_twelve(dozen, keeper, most):
    def asked(patients) -> int:
        kinds = dict.fromkeys(patients, frozenset({FILLER}))
        return queries_of(lambda: list(keeper(Asked(kinds, timezone.now(), ClinicPolicy()))))

    assert asked(dozen[:1]) == asked(dozen) == most


def test_all_of_them_are_asked_in_as_many_queries_for_twelve_as_for_one(dozen):
    one = queries_of(lambda: gates_of_patients(dozen[:1], timezone.now()))
    assert queries_of(lambda: gates_of_patients(dozen, timezone.now())) == one


def test_each_patient_is_told_what_stands_before_that_one(dozen, desk):
    stranger = make_patient(desk, "Bo Li")
    told = gates_of_patients([*dozen, stranger], timezone.now())
    keys = {pk: [gate.key for gate in gates] for pk, gates in told.items()}
    settled = ["screening-occlusion", "photographs"]
    assert keys.pop(stranger.pk) == ["consent-toxin", "screening-missing"]
    assert keys == {patient.pk: settled for patient in dozen}
    assert told[dozen[0].pk] == gates_of(dozen[0], timezone.now())
    wanted = [gates[-1].title.split()[0] for gates in told.values()][:2]
    assert int(wanted[0]) + 1 == int(wanted[1])  # one is photographed already


def test_the_plan_says_which_consent_is_asked_for(injector, patient):
    consented(injector, patient)
    make_plan(injector, patient, make_product("Toxin", kind="toxin"))
    stop, *advice = gates_of(patient, timezone.now())
    assert (stop.key, stop.title) == ("consent-toxin", "No consent in force: Toxin")
    assert "photographs" in [gate.key for gate in advice]


def test_what_is_planned_is_the_stage_under_way_then_the_next_one(injector, patient):
    today = timezone.localdate()
    plan = make_plan(injector, patient, make_product("Toxin", kind="toxin"))
    after = add_stage(plan=plan, weeks_after=4, actor=injector)
    add_copies(stage=after, lines=[make_line(make_product())], actor=injector)
    for planned in ({TOXIN}, {FILLER}):
        assert kinds_planned([patient.pk], today) == {patient.pk: planned}
        session = make_session(injector, patient)
        assert kinds_planned([patient.pk], today) == {patient.pk: planned}
        sign_session(session=session, remainders={}, actor=injector)
    assert kinds_planned([patient.pk], today) == {}


def test_a_plan_of_a_later_day_was_not_made_for_a_treatment(injector, patient):
    make_plan(injector, patient, make_product())
    yesterday = timezone.localdate() - timedelta(days=1)
    assert kinds_planned([patient.pk], yesterday) == {}


def test_an_urgent_dissolving_is_not_held_back_by_the_age(injector, desk):
    young = make_patient(desk, "Bo Li", birth_date=date(timezone.localdate().year - 16, 1, 1))
    make_plan(injector, young, make_product("Hyaluronidase", kind="hyaluronidase"))
    stops = {
        gate.key: gate.can_be_decided for gate in gates_of(young, timezone.now()) if gate.is_stop
    }
    assert stops == {"minimum-age": True, "consent-hyaluronidase": True}
