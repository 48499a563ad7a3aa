"""Several people at one count, with real threads and real transactions, on both databases."""

import pytest

from clinic.counts.enums import CountScope, Way
from clinic.counts.errors import CountClosed, CountUnderWay
from clinic.counts.models import CountDifference, CountedUnit, StockCount
from clinic.counts.services.counting import see_unit, start_count
from clinic.counts.services.posting import post_count, unit_key
from clinic.counts.services.scanning import count_code
from clinic.stock.enums import UnitState
from clinic.stock.models import StockMovement
from clinic.storage.services import move_units
from records.sessions.errors import OpeningRefused
from records.sessions.services.tray import put_on_tray
from tests.clinic.counts.conftest import GTIN
from tests.factories import (
    make_patient,
    make_place,
    make_product,
    make_session,
    make_units,
    make_user,
    refreshed,
)
from tests.records.sessions.services.test_races import at_once

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def people():
    return make_user("injector"), make_user("owner")


@pytest.fixture
def shelf(people):
    """Four units of one lot in a cupboard that is being counted."""
    injector, owner = people
    place = make_place()
    units = make_units(owner, make_product(gtin=GTIN), quantity=4, place=place)
    return start_count(scope=CountScope.PLACE, place=place, actor=injector), units


def reasons(units) -> dict[str, str]:
    return {unit_key(unit): "Looked for" for unit in units}


def test_two_who_scan_the_same_lot_note_two_units(people, shelf):
    count, units = shelf
    acts = [
        lambda who=who: count_code(count=count, text=f"(01){GTIN}(10)LOT42", actor=who)
        for who in people * 2
    ]
    answers = at_once(acts)
    assert {answer.unit for answer in answers} == set(units)


def test_the_same_unit_ticked_on_two_tablets_is_noted_once(people, shelf):
    count, units = shelf
    acts = [
        lambda who=who: see_unit(count=count, unit=units[0], way=Way.TICKED, actor=who)
        for who in people * 2
    ]
    assert sorted(at_once(acts)) == [False, False, False, True]
    assert CountedUnit.objects.count() == 1


def test_starting_twice_at_once_starts_one_count(people):
    place = make_place()
    acts = [
        lambda who=who: start_count(scope=CountScope.PLACE, place=place, actor=who)
        for who in people * 2
    ]
    answers = at_once(acts)
    count = StockCount.objects.get()
    assert sum(answer == count for answer in answers) == 1
    assert all(answer.count == count for answer in answers if isinstance(answer, CountUnderWay))


def test_posting_twice_at_once_posts_once(people, shelf):
    count, units = shelf
    _, owner = people
    post = lambda: post_count(count=count, explanations=reasons(units), actor=owner)  # noqa: E731
    answers = at_once([post, post, post])
    assert sum(isinstance(answer, CountClosed) for answer in answers) == 2
    assert CountDifference.objects.count() == 4
    assert StockMovement.objects.filter(kind="missing").count() == 4


def test_posting_against_opening_ends_in_one_order(people, shelf):
    """Either the unit was opened, and is not missing, or it is missing, and is not opened."""
    count, units = shelf
    injector, owner = people
    session = make_session(injector, make_patient(owner))
    _, opened = at_once(
        [
            lambda: post_count(count=count, explanations=reasons(units), actor=owner),
            lambda: put_on_tray(session=session, unit=units[0], actor=injector),
        ]
    )
    kinds = list(units[0].movements.order_by("id").values_list("kind", flat=True))
    if isinstance(opened, OpeningRefused):
        assert (kinds, refreshed(units[0]).state) == (["received", "missing"], UnitState.MISSING)
    else:
        assert (kinds, refreshed(units[0]).state) == (["received", "opened"], UnitState.OPENED)
    assert not refreshed(count).is_open
    assert CountDifference.objects.count() == 4 - kinds.count("opened")


def test_posting_against_moving_ends_in_one_order(people, shelf):
    count, units = shelf
    injector, owner = people
    room = make_place("Room")
    at_once(
        [
            lambda: post_count(count=count, explanations=reasons(units), actor=owner),
            lambda: move_units(units=units[:2], place=room, reason="Today", actor=injector),
        ]
    )
    for unit in units[:2]:
        kinds = list(unit.movements.order_by("id").values_list("kind", flat=True))
        assert kinds in (["received", "missing"], ["received", "moved"])
    assert not refreshed(count).is_open


def test_a_scan_against_posting_is_in_the_count_or_refused(people, shelf):
    count, units = shelf
    injector, owner = people
    _, seen = at_once(
        [
            lambda: post_count(count=count, explanations=reasons(units), actor=owner),
            lambda: see_unit(count=count, unit=units[0], way=Way.TICKED, actor=injector),
        ]
    )
    is_missing = refreshed(units[0]).state == UnitState.MISSING
    assert is_missing == isinstance(seen, CountClosed)
    assert CountedUnit.objects.exists() == (not is_missing)
