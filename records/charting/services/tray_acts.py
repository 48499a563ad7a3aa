"""Opening units, putting them back and recording waste from a tablet."""

from clinic.stock.models import UnitOfStock
from clinic.stock.services import lock_unit
from planning.amounts import format_amount
from records.charting.errors import Choice, Conflict, Refused
from records.charting.services.bases import check_given_up, known_base
from records.charting.services.operations import Act
from records.sessions.errors import OpeningRefused, Overdrawn, UnitGone
from records.sessions.queries.tray import asks_diluent
from records.sessions.services.tray import put_on_tray, record_waste, take_off_tray

NOT_USED = Choice("drop", "It was not used")
OTHER_UNIT = Choice("other_unit", "Another unit was used")
DEVIATION = Choice("deviation", "It was used: say why")
EDIT = Choice("edit", "Change the amount")


def open_unit(act: Act) -> None:
    known_base(act)
    data, unit = act.op.data, _unit(act)
    if _lacks_diluent(unit, data):
        raise Refused(
            f"Type the mL that unit {unit.label} was made up with: the units in 0.1 mL depend on "
            "it. If it is ready to use, or nobody knows, say so instead.",
        )
    here = (
        f"Unit {unit.label} of {unit.lot.product}, lot {unit.lot.number}, "
        f"was opened for {act.session.patient}."
    )
    try:
        put_on_tray(
            session=act.session, unit=unit, actor=act.sender, diluent_ul=data["diluent_ul"],
            diluent=data["diluent"], deviation=data["deviation"], opened_at=act.moment,
            confirmed_odd=data["confirmed_odd"],
        )  # fmt: skip
    except UnitGone as error:
        raise Conflict("unit", here, str(error), [OTHER_UNIT, NOT_USED]) from error
    except OpeningRefused as error:
        ways = [NOT_USED, OTHER_UNIT, DEVIATION]
        raise Conflict("unit", here, str(error), ways) from error


def _lacks_diluent(unit: UnitOfStock, data: dict) -> bool:
    said = data["diluent_ul"] or data["no_diluent"] or data["deviation"]
    return asks_diluent(unit) and not said


def put_back(act: Act) -> None:
    known_base(act)
    unit = _unit(act)
    if act.session.tray.filter(unit=unit).exists():
        take_off_tray(session=act.session, unit=unit, actor=act.sender)


def waste(act: Act) -> None:
    known_base(act)
    data, unit = act.op.data, _unit(act)
    check_given_up(act, f"{format_amount(data['amount'], unit.measure)} wasted.")
    try:
        record_waste(
            session=act.session, unit=unit, amount=data["amount"], reason=data["reason"],
            actor=act.sender,
        )  # fmt: skip
    except Overdrawn as error:
        raise overdrawn(unit, data["amount"], error) from error


def overdrawn(unit: UnitOfStock, amount: int, error: Overdrawn) -> Refused:
    """Refused, with the ways out."""
    here = f"{format_amount(amount, unit.measure)} from unit {unit.label}."
    ways = [EDIT, OTHER_UNIT, Choice("drop", "Give it up")]
    conflict = Conflict("unit", here, str(error), ways).conflict
    return Refused(str(error), conflict)


def _unit(act: Act) -> UnitOfStock:
    try:
        return lock_unit(act.op.data["unit"])
    except UnitOfStock.DoesNotExist as error:
        raise Refused("The clinic has no such unit. Choose one from the tray.") from error
