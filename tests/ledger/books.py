"""A clinic whose stock several people work on at once, and what must hold of its books then."""

import uuid
from collections import defaultdict
from collections.abc import Callable
from datetime import date

from clinic.audit.models import AuditEvent
from clinic.audit.queries import verify_chain
from clinic.audit.services import acting
from clinic.quarantine.models import Quarantine
from clinic.quarantine.services import lift_quarantine, place_quarantine, quarantine_lot
from clinic.receiving.services import receive_lot
from clinic.stock.enums import MovementKind, UnitState
from clinic.stock.errors import StockError
from clinic.stock.models import Lot, StockMovement, UnitOfStock
from clinic.stock.queries import lot_stock
from clinic.stock.services import (
    discard_remainder,
    lock_unit,
    move_unit,
    put_elsewhere,
    take_out_of_stock,
)
from planning.ledger import Entry, Movement, replay
from records.sessions.errors import SessionError
from records.sessions.models import InjectionEntry
from records.sessions.queries.balances import unit_checks
from records.sessions.services.points import change_point, remove_point, restore_point
from records.sessions.services.signing import sign_session
from records.sessions.services.tray import put_on_tray, record_waste, take_off_tray
from tests.factories import (
    make_patient,
    make_place,
    make_point,
    make_product,
    make_session,
    make_user,
    point_details,
)

DONE = "done"
REFUSALS = (StockError, SessionError)


class Books:
    """
    Two injectors with a patient each, two owners, three lots of two products.

    Each act takes whole numbers that choose what it is done to, and is either done or refused with
    a sentence; anything else is a fault.
    """

    def __init__(self) -> None:
        self.name = uuid.uuid4().hex[:8]
        self.owners = [make_user(f"{self.name}-{n}", is_owner=True) for n in range(2)]
        self.injectors = [make_user(f"{self.name}-i{n}", is_injector=True) for n in range(2)]
        self.patients = [make_patient(self.owners[0], f"Pat {n} {self.name}") for n in range(2)]
        self.products = [
            make_product(f"Filler {self.name}"),
            make_product(
                f"Toxin {self.name}", kind="toxin", content=10_000, is_single_patient=False
            ),
        ]
        self.places = [make_place(f"Place {n}", site=self.name) for n in range(2)]
        self.first_event = AuditEvent.objects.count()
        for lot in range(3):
            self.receive(lot, 2, 0)

    # --- acts ---------------------------------------------------------------------------------

    def receive(self, lot: int, quantity: int, serial: int) -> None:
        serials = [f"SN{serial:04d}"] if serial % 3 else []
        receive_lot(
            product=self.products[lot % 2], number=f"{self.name}{lot % 3}", actor=self._owner(lot),
            expires_on=date(2040, 1, 1), quantity=quantity % 3 + 1, serials=serials,
            place=self.places[serial % 2],
        )  # fmt: skip

    def open(self, unit: int, who: int, _: int) -> None:
        put_on_tray(session=self._session(who), unit=self._unit(unit), actor=self._injector(who))

    def put_back(self, unit: int, who: int, _: int) -> None:
        session = self._session(who)
        row = _pick(session.tray.select_related("unit"), unit)
        if row:
            take_off_tray(session=session, unit=row.unit, actor=self._injector(who))

    def log(self, unit: int, who: int, amount: int) -> None:
        make_point(self._session(who), self._on_tray(unit, who), amount=amount + 1)

    def change(self, point: int, who: int, amount: int) -> None:
        if found := self._point(point, who):
            details = point_details(self._on_tray(amount, who), amount=amount + 1)
            change_point(point=found, details=details, actor=self._injector(who))

    def remove(self, point: int, who: int, _: int) -> None:
        if found := self._point(point, who):
            remove_point(point=found, actor=self._injector(who))

    def restore(self, point: int, who: int, _: int) -> None:
        removed = InjectionEntry.objects.filter(session=self._session(who)).order_by("id")
        if found := _pick(removed, point):
            restore_point(point=found, actor=self._injector(who))

    def waste(self, unit: int, who: int, amount: int) -> None:
        record_waste(
            session=self._session(who), unit=self._on_tray(unit, who), amount=amount + 1,
            reason="Primed the needle", actor=self._injector(who),
        )  # fmt: skip

    def sign(self, choice: int, who: int, _: int) -> None:
        session = self._session(who)
        fate = ["wasted", "kept"][choice % 2]
        remainders = {
            row.unit_id: "wasted" if row.unit.opening.patient_id is None else fate
            for row in session.tray.select_related("unit__opening")
        }
        sign_session(session=session, remainders=remainders, actor=self._injector(who))

    def take_out(self, unit: int, who: int, kind: int) -> None:
        kinds = [MovementKind.RETURNED, MovementKind.WRITTEN_OFF]
        take_out_of_stock(
            unit=self._unit(unit), kind=kinds[kind % 2], reason="Tried", actor=self._owner(who)
        )

    def discard(self, unit: int, who: int, _: int) -> None:
        discard_remainder(unit=self._unit(unit), reason="Kept too long", actor=self._owner(who))

    def move(self, unit: int, who: int, place: int) -> None:
        put_elsewhere(unit=self._unit(unit), place=self.places[place % 2], actor=self._owner(who))

    def count(self, unit: int, who: int, kind: int) -> None:
        kinds = [MovementKind.MISSING, MovementKind.FOUND]
        with acting(self._owner(who)):
            locked = lock_unit(self._unit(unit).pk)
            move_unit(
                locked, kinds[kind % 2], amount=locked.content, reason="Counted",
                actor=self._owner(who),
            )  # fmt: skip

    def hold_lot(self, lot: int, who: int, _: int) -> None:
        if found := _pick(self._lots(), lot):
            quarantine_lot(lot=found, reason="A letter of the maker", actor=self._owner(who))

    def hold_range(self, product: int, who: int, first: int) -> None:
        spans = [
            {"lot_first": f"{self.name}{first % 3}", "lot_last": f"{self.name}2"},
            {"serial_first": f"SN{first % 500:04d}", "serial_last": f"SN{first % 500 + 200:04d}"},
            {},
        ]
        span = Quarantine(
            product=self.products[product % 2], reason="A range", **spans[first % len(spans)]
        )
        place_quarantine(quarantine=span, actor=self._owner(who))

    def lift(self, quarantine: int, who: int, _: int) -> None:
        standing = Quarantine.objects.standing().filter(product__in=self.products)
        if found := _pick(standing.order_by("id"), quarantine):
            lift_quarantine(quarantine=found, reason="Cleared", actor=self._owner(who))

    def attempt(self, act: str, *numbers: int) -> Callable[[], str]:
        """The act as one person does it; returns "done", or the sentence that refused it."""

        def run() -> str:
            try:
                getattr(self, act)(*numbers)
            except REFUSALS as error:
                return str(error)
            return DONE

        return run

    # --- who and what -------------------------------------------------------------------------

    def _owner(self, number: int):
        return self.owners[number % 2]

    def _injector(self, number: int):
        return self.injectors[number % 2]

    def _session(self, number: int):
        return make_session(self._injector(number), self.patients[number % 2])

    def _lots(self):
        return Lot.objects.filter(product__in=self.products).order_by("id")

    def units(self):
        return UnitOfStock.objects.filter(lot__product__in=self.products).order_by("id")

    def _unit(self, number: int) -> UnitOfStock:
        return _pick(self.units(), number)

    def _on_tray(self, number: int, who: int) -> UnitOfStock:
        """Mostly a unit on the tray; one that is not has to be refused."""
        row = _pick(self._session(who).tray.select_related("unit"), number)
        return row.unit if row and number % 7 else self._unit(number)

    def _point(self, number: int, who: int) -> InjectionEntry | None:
        standing = InjectionEntry.objects.standing().filter(session=self._session(who))
        return _pick(standing.order_by("id"), number)

    # --- what must hold -----------------------------------------------------------------------

    def check(self) -> None:
        """Every rule of the books; an AssertionError names what is broken."""
        self._units_balance()
        for lot in self._lots():
            stock = lot_stock(lot)
            gone = stock.returned + stock.written_off + stock.missing
            assert stock.received == stock.on_hand + stock.opened + gone, lot
        self._nothing_was_opened_in_quarantine()
        assert verify_chain().intact

    def _units_balance(self) -> None:
        ledgers: dict[int, list[Entry]] = defaultdict(list)
        rows = StockMovement.objects.filter(unit__in=self.units()).order_by("id")
        for row in rows:
            ledgers[row.unit_id].append(Entry(Movement(row.kind), row.amount, row.place_id))
        for unit in self.units():
            balance = replay(ledgers[unit.pk])
            assert (balance.content, balance.drawn, balance.wasted) == (
                unit.content, unit.drawn, unit.wasted,
            ), unit  # fmt: skip
            assert (balance.state, balance.place) == (unit.state, unit.place_id), unit
            assert unit.remaining == balance.remaining >= 0, unit
            assert unit.state == UnitState.OPENED or unit.remaining == unit.content, unit
        assert [check for check in unit_checks() if check.fault] == []

    def _nothing_was_opened_in_quarantine(self) -> None:
        """The trail is written in the order in which the acts were committed."""
        lot_of = {str(unit.pk): str(unit.lot_id) for unit in self.units()}
        held: set[tuple[str, str]] = set()
        for event in AuditEvent.objects.filter(id__gt=self.first_event).order_by("id"):
            subject = (event.subject_type, event.subject_id)
            if event.action in {"lot.quarantined", "unit.quarantined"}:
                held.add(subject)
            elif event.action in {"lot.released", "unit.released"}:
                held.discard(subject)
            elif event.action == "unit.on_tray" and event.subject_id in lot_of:
                assert subject not in held, f"{event} in quarantine"
                assert ("lot", lot_of[event.subject_id]) not in held, f"{event}: lot in quarantine"
        assert held == self._held_now()

    def _held_now(self) -> set[tuple[str, str]]:
        lots = self._lots().filter(quarantined_at__isnull=False).values_list("pk", flat=True)
        units = self.units().filter(quarantined_at__isnull=False).values_list("pk", flat=True)
        return {("lot", str(pk)) for pk in lots} | {("unitofstock", str(pk)) for pk in units}


def _pick(rows, number: int):
    found = list(rows)
    return found[number % len(found)] if found else None
