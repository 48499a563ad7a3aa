"""Whatever is done to the units of a lot, in whatever order, nothing is lost or doubled."""

from django.db import IntegrityError, transaction
from django.db.models import Sum
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from clinic.stock.enums import MovementKind, UnitState
from clinic.stock.errors import UnitNotAvailable
from clinic.stock.models import StockMovement, UnitOfStock
from clinic.stock.queries import lot_stock
from clinic.stock.services import lock_unit, move_unit
from tests.factories import make_product, make_units

CONTENT = 1000
# Receiving makes the unit, draws come from points, and a move changes no state.
ELSEWHERE = {MovementKind.RECEIVED, MovementKind.DRAWN, MovementKind.UNDRAWN, MovementKind.MOVED}
LATER = [kind for kind in MovementKind if kind not in ELSEWHERE]
acts = st.lists(
    st.tuples(st.integers(0, 2), st.sampled_from(LATER), st.integers(0, CONTENT + 200)),
    max_size=12,
)


def attempt(unit: UnitOfStock, kind: MovementKind, amount: int, actor) -> None:
    """The act, or its refusal by the service or the database, which must leave no trace."""
    before = StockMovement.objects.count()
    try:
        with transaction.atomic():
            move_unit(lock_unit(unit.pk), kind, amount=amount, actor=actor, reason="Tried")
    except (UnitNotAvailable, IntegrityError):
        assert StockMovement.objects.count() == before
    else:
        assert StockMovement.objects.count() == before + 1


@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(acts=acts)
def test_the_books_balance_after_any_sequence(owner, acts):
    with transaction.atomic():
        units = make_units(owner, make_product(), quantity=3)
        for index, kind, amount in acts:
            attempt(units[index], kind, amount, owner)

        for unit in UnitOfStock.objects.all():
            wasted = unit.movements.filter(kind=MovementKind.WASTED).aggregate(
                sum=Sum("amount", default=0)
            )["sum"]
            assert unit.wasted == wasted
            assert unit.content == CONTENT == unit.drawn + unit.wasted + unit.remaining
            assert unit.remaining >= 0
            if unit.state != UnitState.OPENED:
                assert unit.remaining == CONTENT
        stock = lot_stock(units[0].lot)
        gone = stock.returned + stock.written_off + stock.missing
        assert stock.received == 3 == stock.on_hand + stock.opened + gone
        transaction.set_rollback(True)
