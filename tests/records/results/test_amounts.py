"""What a patient got in each region over all sessions."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from planning.region_plots import region_plots
from planning.vocabulary import ProductKind, Side
from records.results.queries.amounts import amounts_of
from records.sessions.enums import Remainder
from records.sessions.services.points import remove_point
from tests.factories import make_point, make_product, make_session_with_unit, make_units
from tests.records.results.conftest import APRIL, MARCH, MAY


def sums(patient) -> dict:
    return {
        kind.label: {plot.region: dict(plot.by_side) for plot in kind.plots}
        for kind in region_plots(amounts_of(patient))
    }


def sides(*, left: int = 0, right: int = 0, midline: int = 0) -> dict:
    return {Side.LEFT: left, Side.RIGHT: right, Side.MIDLINE: midline}


def test_each_region_and_side_over_all_sessions(clinic):
    assert sums(clinic.ann) == {"Fillers": {"temple": sides(left=300), "mental": sides(left=400)}}
    assert sums(clinic.bea) == {
        "Fillers": {"temple": sides(left=600)},
        "Toxin 100 units": {"glabella": sides(midline=4_000)},
    }


def test_fillers_have_a_sum_and_toxins_of_two_products_have_none(patient, injector, owner, treat):
    def one(name: str, **fields):
        return make_units(owner, make_product(name, **fields), number=name[:3], quantity=1)[0]

    toxin = {"kind": ProductKind.TOXIN, "content": 10_000, "lidocaine_ug_per_ml": 0}
    treat(patient, injector, MARCH, one("Soft filler"), {"temple": 200})
    firm = one("Mineral filler", kind=ProductKind.OTHER_FILLER)
    treat(patient, injector, APRIL, firm, {"temple": 300}, side=Side.RIGHT)
    treat(patient, injector, APRIL, one("Numbing gel", kind=ProductKind.ANAESTHETIC),
          {"temple": 500})  # fmt: skip
    treat(patient, injector, APRIL, one("Toxin one", **toxin), {"brow": 400})
    treat(patient, injector, MAY, one("Toxin two", **toxin), {"brow": 600})
    assert sums(patient) == {
        "Fillers": {"temple": sides(left=200, right=300)},
        "Numbing gel": {"temple": sides(left=500)},
        "Toxin one": {"brow": sides(left=400)},
        "Toxin two": {"brow": sides(left=600)},
    }


def test_two_packs_of_one_toxin_have_a_sum(patient, injector, owner, treat):
    """A vial of 100 and one of 50 units of the same product line."""
    toxin = {"kind": ProductKind.TOXIN, "content": 10_000, "lidocaine_ug_per_ml": 0, "line": "T"}

    def one(name: str):
        return make_units(owner, make_product(name, **toxin), number=name, quantity=1)[0]

    treat(patient, injector, APRIL, one("T100"), {"brow": 400})
    treat(patient, injector, MAY, one("T50"), {"brow": 600})
    assert sums(patient) == {"T": {"brow": sides(left=1_000)}}


@pytest.mark.usefixtures("clinic")
def test_what_is_under_way_counts_and_what_was_removed_does_not(patient, injector, owner):
    unit = make_units(owner, make_product("Other filler 1 mL"), number="B1", quantity=1)[0]
    session = make_session_with_unit(injector, patient, unit)
    make_point(session, unit, amount=200, region="temple", side=Side.LEFT)
    slip = make_point(session, unit, amount=300, region="mental", side=Side.LEFT)
    remove_point(point=slip, actor=injector)
    assert sums(patient) == {"Fillers": {"temple": sides(left=200)}}


def test_the_day_is_that_of_the_clinic_s_clock(clinic):
    assert {str(row.day) for row in amounts_of(clinic.bea)} == {"2026-04-10", "2026-05-01"}


def test_three_queries_for_any_number_of_sessions(clinic, injector, owner, treat):
    for number, at in enumerate((APRIL, MAY)):
        (unit,) = make_units(owner, clinic.filler, number=f"N{number}", quantity=1)
        treat(clinic.ann, injector, at, unit, {"temple": 100}, rest=Remainder.KEPT)
    with CaptureQueriesContext(connection) as queries:
        assert len({row.session for row in amounts_of(clinic.ann)}) == 3
    assert len(queries) == 3
