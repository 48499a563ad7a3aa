"""
The ledger replayed. The rule content = drawn + wasted + remaining is arithmetic; the lot of three
patients is worked by hand (common practice, no source).
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.ledger import (
    Balance,
    Entry,
    LedgerError,
    Movement,
    State,
    lot_balance,
    replay,
    replay_units,
)

RECEIVED = Entry(Movement.RECEIVED, 1_000, "fridge")
OPENED = Entry(Movement.OPENED)


def drawn(amount: int) -> Entry:
    return Entry(Movement.DRAWN, amount)


def wasted(amount: int) -> Entry:
    return Entry(Movement.WASTED, amount)


def test_a_syringe_is_used_up() -> None:
    balance = replay([RECEIVED, OPENED, drawn(700), drawn(200), wasted(100)])
    assert balance == Balance(State.OPENED, 1_000, drawn=900, wasted=100, place="fridge")
    assert balance.remaining == 0


def test_a_draw_can_be_taken_back_and_the_unit_put_back_while_it_is_full() -> None:
    taken_back = [RECEIVED, OPENED, drawn(300), Entry(Movement.UNDRAWN, 300)]
    assert replay([*taken_back, Entry(Movement.PUT_BACK)]).state is State.IN_STOCK
    assert replay([*taken_back, Entry(Movement.KEPT), drawn(1_000)]).remaining == 0


def test_a_count_loses_a_unit_and_finds_it_elsewhere() -> None:
    missing = [RECEIVED, Entry(Movement.MISSING)]
    assert replay(missing).state is State.MISSING
    found = replay([*missing, Entry(Movement.FOUND, place="room 2")])
    assert (found.state, found.place, found.remaining) == (State.IN_STOCK, "room 2", 1_000)
    assert replay([*missing, Entry(Movement.FOUND)]).place == "fridge"


@pytest.mark.parametrize("left", [Movement.RETURNED, Movement.WRITTEN_OFF])
def test_a_count_finds_what_had_left_by_the_books_alone(left: Movement) -> None:
    found = replay([RECEIVED, Entry(left), Entry(Movement.FOUND, place="room 1")])
    assert (found.state, found.place) == (State.IN_STOCK, "room 1")


def test_a_count_finds_a_unit_nobody_had_received() -> None:
    assert replay([Entry(Movement.FOUND, 500, "drawer")]) == Balance(
        State.IN_STOCK, 500, place="drawer"
    )


def test_a_unit_moves_unopened_and_opened() -> None:
    there = Entry(Movement.MOVED, place="room 1")
    back = Entry(Movement.MOVED, place="fridge")
    assert replay([RECEIVED, there]).place == "room 1"
    assert replay([RECEIVED, there, OPENED, back]).place == "fridge"


IMPOSSIBLE = [
    ([OPENED], 1, "neither received nor found"),
    ([Entry(Movement.RECEIVED, 0)], 1, "an amount above 0"),
    ([RECEIVED, RECEIVED], 2, "in the ledger already"),
    ([RECEIVED, OPENED, OPENED], 3, "the unit is opened"),
    ([RECEIVED, drawn(100)], 2, "the unit is in stock"),
    ([RECEIVED, wasted(100)], 2, "the unit is in stock"),
    ([RECEIVED, Entry(Movement.KEPT)], 2, "the unit is in stock"),
    ([RECEIVED, OPENED, drawn(1_001)], 3, "1001 is more than the 1000 that remain"),
    ([RECEIVED, OPENED, drawn(600), wasted(401)], 4, "401 is more than the 400 that remain"),
    ([RECEIVED, OPENED, drawn(0)], 3, "an amount above 0"),
    ([RECEIVED, OPENED, drawn(-5)], 3, "an amount above 0"),
    ([RECEIVED, OPENED, drawn(5), Entry(Movement.UNDRAWN, 6)], 4, "more than the 5"),
    ([RECEIVED, OPENED, drawn(5), Entry(Movement.PUT_BACK)], 4, "not unopened"),
    ([RECEIVED, OPENED, wasted(5), Entry(Movement.PUT_BACK)], 4, "not unopened"),
    ([RECEIVED, Entry(Movement.PUT_BACK)], 2, "the unit is in stock"),
    ([RECEIVED, OPENED, Entry(Movement.RETURNED)], 3, "the unit is opened"),
    ([RECEIVED, OPENED, Entry(Movement.WRITTEN_OFF)], 3, "the unit is opened"),
    ([RECEIVED, OPENED, Entry(Movement.MISSING)], 3, "the unit is opened"),
    ([RECEIVED, Entry(Movement.RETURNED), OPENED], 3, "returned to supplier"),
    ([RECEIVED, Entry(Movement.WRITTEN_OFF), OPENED], 3, "written off"),
    ([RECEIVED, Entry(Movement.MISSING), OPENED], 3, "the unit is missing"),
    ([RECEIVED, Entry(Movement.FOUND)], 2, "the unit is in stock"),
    ([RECEIVED, Entry(Movement.MOVED)], 2, "does not say where to"),
    ([RECEIVED, Entry(Movement.MISSING), Entry(Movement.MOVED, place="x")], 3, "missing"),
]


@pytest.mark.parametrize(("entries", "position", "message"), IMPOSSIBLE)
def test_the_first_impossible_movement_is_named(
    entries: list[Entry], position: int, message: str
) -> None:
    with pytest.raises(LedgerError, match=message) as refusal:
        replay([*entries, RECEIVED])
    assert refusal.value.position == position
    assert refusal.value.kind is entries[-1].kind
    assert str(refusal.value).startswith(f"Movement {position}, ")


def test_a_unit_without_movements_has_no_balance() -> None:
    with pytest.raises(ValueError, match="not in the ledger"):
        replay([])


def test_a_lot_of_six_syringes_and_three_patients() -> None:
    # Six of 1 mL; 1.5 mL drawn over five points, 0.5 mL wasted, two returned: 2 mL left unopened.
    rows = [(unit, RECEIVED) for unit in range(6)]
    rows += [(0, OPENED), (1, OPENED)]
    rows += [(0, drawn(200)), (0, drawn(300)), (0, drawn(500))]
    rows += [(1, drawn(100)), (1, drawn(400)), (1, wasted(500))]
    rows += [(4, Entry(Movement.RETURNED)), (5, Entry(Movement.RETURNED))]
    lot = lot_balance(replay_units(rows).values())
    assert (lot.drawn, lot.wasted, lot.remaining_opened) == (1_500, 500, 0)
    assert (lot.entered, lot.in_stock, lot.opened, lot.returned) == (6, 2, 2, 2)
    assert 6_000 - lot.drawn - lot.wasted - 2_000 == lot.in_stock * 1_000


ENTRIES = st.builds(
    Entry,
    st.sampled_from(Movement),
    st.integers(-50, 600),
    st.sampled_from([None, "fridge", "room 1"]),
)


def what_is_accepted(tried: list[Entry]) -> list[Entry]:
    """A unit's entries, those left out that the ledger refuses."""
    accepted = [RECEIVED]
    for entry in tried:
        try:
            replay([*accepted, entry])
        except LedgerError as refusal:
            assert refusal.position == len(accepted) + 1  # noqa: PT017 - many are refused
        else:
            accepted.append(entry)
    return accepted


@given(st.lists(ENTRIES, max_size=40))
def test_whatever_is_accepted_balances(tried: list[Entry]) -> None:
    accepted = what_is_accepted(tried)
    balance = replay(accepted)
    total = {kind: sum(e.amount for e in accepted if e.kind is kind) for kind in Movement}
    assert balance.drawn == total[Movement.DRAWN] - total[Movement.UNDRAWN] >= 0
    assert balance.wasted == total[Movement.WASTED] >= 0
    assert balance.content == 1_000 == balance.drawn + balance.wasted + balance.remaining
    assert balance.remaining >= 0
    if balance.state is not State.OPENED:
        assert balance.remaining == balance.content


@given(st.lists(st.lists(ENTRIES, max_size=12), max_size=6))
def test_a_lot_accounts_for_every_unit_that_entered(units: list[list[Entry]]) -> None:
    lot = lot_balance(replay(what_is_accepted(tried)) for tried in units)
    assert lot.entered == len(units)
    assert lot.entered == (lot.in_stock + lot.opened + lot.missing + lot.returned + lot.written_off)
    assert lot.opened * 1_000 == lot.drawn + lot.wasted + lot.remaining_opened
