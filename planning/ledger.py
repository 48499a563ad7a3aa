"""
The ledger of a unit of stock, replayed: what its movements leave in it, and where it is.

Amounts are integers in the unit's base (microlitres or hundredths of a unit). A balance is derived
from the movements and never typed: content = drawn + wasted + remaining, whatever was done. The
first movement that cannot have happened is named.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from dataclasses import dataclass, replace

from planning.vocabulary import Term


class LedgerError(ValueError):
    """
    A movement that cannot follow the ones before it.

    `position` counts the unit's movements from 1.
    """

    def __init__(self, position: int, kind: Movement, why: str) -> None:
        super().__init__(f"Movement {position}, {kind.label.lower()}: {why}")
        self.position = position
        self.kind = kind


class Movement(Term):
    """What can happen to a unit of stock."""

    RECEIVED = "received", "Received"
    OPENED = "opened", "Opened"
    PUT_BACK = "put_back", "Put back unopened"
    DRAWN = "drawn", "Drawn"
    UNDRAWN = "undrawn", "Draw taken back"
    WASTED = "wasted", "Wasted"
    KEPT = "kept", "Kept for the same patient"
    MOVED = "moved", "Moved to another place"
    MISSING = "missing", "Missing at a count"
    FOUND = "found", "Found at a count"
    RETURNED = "returned", "Returned to supplier"
    WRITTEN_OFF = "written_off", "Written off"


class State(Term):
    """Where a unit is in its life. Empty is not a state: nothing remains in it."""

    IN_STOCK = "in_stock", "In stock"
    OPENED = "opened", "Opened"
    MISSING = "missing", "Missing"
    RETURNED = "returned", "Returned to supplier"
    WRITTEN_OFF = "written_off", "Written off"


# The states a movement may start from; and the one it leads to, if it changes the state.
_FROM: dict[Movement, frozenset[State]] = {
    Movement.OPENED: frozenset({State.IN_STOCK}),
    Movement.PUT_BACK: frozenset({State.OPENED}),
    Movement.DRAWN: frozenset({State.OPENED}),
    Movement.UNDRAWN: frozenset({State.OPENED}),
    Movement.WASTED: frozenset({State.OPENED}),
    Movement.KEPT: frozenset({State.OPENED}),
    Movement.MOVED: frozenset({State.IN_STOCK, State.OPENED}),
    Movement.MISSING: frozenset({State.IN_STOCK}),
    # What had left by the books alone can lie there after all.
    Movement.FOUND: frozenset({State.MISSING, State.RETURNED, State.WRITTEN_OFF}),
    Movement.RETURNED: frozenset({State.IN_STOCK}),
    Movement.WRITTEN_OFF: frozenset({State.IN_STOCK}),
}
_TO: dict[Movement, State] = {
    Movement.OPENED: State.OPENED,
    Movement.PUT_BACK: State.IN_STOCK,
    Movement.MISSING: State.MISSING,
    Movement.FOUND: State.IN_STOCK,
    Movement.RETURNED: State.RETURNED,
    Movement.WRITTEN_OFF: State.WRITTEN_OFF,
}
# A unit enters the ledger by one of these; found, if nobody had received it.
_ENTERING = (Movement.RECEIVED, Movement.FOUND)
_CHANGE_AMOUNTS = (Movement.DRAWN, Movement.UNDRAWN, Movement.WASTED)


@dataclass(frozen=True, slots=True)
class Entry:
    """
    One row of the ledger.

    Attributes:
        amount: base units. The content for the movement a unit enters by, above 0; what was drawn,
            taken back or wasted; of no meaning for the others.
        place: where to, for a movement that says so; None otherwise.
    """

    kind: Movement
    amount: int = 0
    place: Hashable = None


@dataclass(frozen=True, slots=True)
class Balance:
    """What the movements of one unit leave: amounts in base units, state and place."""

    state: State
    content: int
    drawn: int = 0
    wasted: int = 0
    place: Hashable = None

    @property
    def remaining(self) -> int:
        return self.content - self.drawn - self.wasted


@dataclass(frozen=True, slots=True)
class LotBalance:
    """
    The balances of a lot's units together: counts of units, amounts in base units.

    entered = in_stock + opened + missing + returned + written_off, and for the opened units
    content = drawn + wasted + remaining.
    """

    entered: int
    in_stock: int
    opened: int
    missing: int
    returned: int
    written_off: int
    drawn: int
    wasted: int
    remaining_opened: int


def replay(entries: Iterable[Entry]) -> Balance:
    """
    The balance after the movements of one unit, in their order.

    Raises:
        LedgerError: the first movement that cannot follow the ones before it.
        ValueError: no movement at all; such a unit is not in the ledger.
    """
    balance: Balance | None = None
    for position, entry in enumerate(entries, start=1):
        refusal = _refusal(balance, entry)
        if refusal:
            raise LedgerError(position, entry.kind, refusal)
        balance = _after(balance, entry)
    if balance is None:
        raise ValueError("A unit without movements is not in the ledger.")
    return balance


def replay_units(rows: Iterable[tuple[Hashable, Entry]]) -> dict[Hashable, Balance]:
    """The balance of each unit from (unit, entry) rows of many, each unit's in their order."""
    entries: dict[Hashable, list[Entry]] = {}
    for unit, entry in rows:
        entries.setdefault(unit, []).append(entry)
    return {unit: replay(of_unit) for unit, of_unit in entries.items()}


def lot_balance(balances: Iterable[Balance]) -> LotBalance:
    """The units of one lot, and so of one product, counted and their amounts added."""
    units = list(balances)
    count = {state: sum(unit.state is state for unit in units) for state in State}
    return LotBalance(
        entered=len(units),
        in_stock=count[State.IN_STOCK],
        opened=count[State.OPENED],
        missing=count[State.MISSING],
        returned=count[State.RETURNED],
        written_off=count[State.WRITTEN_OFF],
        drawn=sum(unit.drawn for unit in units),
        wasted=sum(unit.wasted for unit in units),
        remaining_opened=sum(unit.remaining for unit in units if unit.state is State.OPENED),
    )


def _refusal(balance: Balance | None, entry: Entry) -> str:
    """Why the movement cannot follow; empty if it can."""
    kind = entry.kind
    if balance is None:
        if kind not in _ENTERING:
            return "the unit was neither received nor found before."
        return "" if entry.amount > 0 else "a unit holds an amount above 0."
    if kind is Movement.RECEIVED:
        return "the unit is in the ledger already."
    if balance.state not in _FROM[kind]:
        return f"the unit is {balance.state.label.lower()}."
    if kind in _CHANGE_AMOUNTS and entry.amount <= 0:
        return "it needs an amount above 0."
    if kind is Movement.MOVED and entry.place is None:
        return "it does not say where to."
    return _overdraft(balance, entry)


def _overdraft(balance: Balance, entry: Entry) -> str:
    match entry.kind:
        case Movement.DRAWN | Movement.WASTED if entry.amount > balance.remaining:
            return f"{entry.amount} is more than the {balance.remaining} that remain."
        case Movement.UNDRAWN if entry.amount > balance.drawn:
            return f"{entry.amount} is more than the {balance.drawn} that are drawn."
        case Movement.PUT_BACK if balance.drawn or balance.wasted:
            return "something was drawn or wasted, so it is not unopened."
    return ""


def _after(balance: Balance | None, entry: Entry) -> Balance:
    """The balance after a movement that can follow."""
    if balance is None:
        return Balance(State.IN_STOCK, content=entry.amount, place=entry.place)
    amount = entry.amount
    match entry.kind:
        case Movement.DRAWN:
            balance = replace(balance, drawn=balance.drawn + amount)
        case Movement.UNDRAWN:
            balance = replace(balance, drawn=balance.drawn - amount)
        case Movement.WASTED:
            balance = replace(balance, wasted=balance.wasted + amount)
    if entry.kind in (Movement.MOVED, Movement.FOUND) and entry.place is not None:
        balance = replace(balance, place=entry.place)
    return replace(balance, state=_TO.get(entry.kind, balance.state))
