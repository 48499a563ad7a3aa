"""content = drawn + wasted + remaining, after any sequence of acts (design brief, rule 4)."""

import uuid
from collections import Counter

import pytest
from django.db.models import Sum
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule, run_state_machine_as_test

from clinic.stock.models import StockMovement, UnitOfStock
from records.sessions.errors import SessionError
from records.sessions.models import InjectionEntry
from records.sessions.queries.points import session_points, session_totals
from records.sessions.services.points import change_point, remove_point
from records.sessions.services.signing import sign_session
from records.sessions.services.tray import put_on_tray, record_waste, take_off_tray
from tests.factories import (
    make_patient,
    make_point,
    make_product,
    make_session,
    make_units,
    make_user,
    point_details,
)

# Around the content of one unit, 1,000: most sequences reach the edge.
AMOUNTS = st.integers(min_value=1, max_value=700)
PICKS = st.integers(min_value=0, max_value=30)


class Clinic(RuleBasedStateMachine):
    """Three syringes, one patient, and a model that counts for itself."""

    def __init__(self) -> None:
        super().__init__()
        name = uuid.uuid4().hex[:12]
        self.injector = make_user(name, is_injector=True)
        self.patient = make_patient(self.injector)
        product = make_product(f"Filler {name}")
        self.units = make_units(self.injector, product, number=name, quantity=3)
        self.session = make_session(self.injector, self.patient)
        self.expected = Counter()
        self.wasted = Counter()

    def pick(self, items, index):
        return items[index % len(items)] if items else None

    def standing(self):
        return list(InjectionEntry.objects.standing().filter(session=self.session))

    @rule(pick=PICKS)
    def open_or_take_up(self, pick):
        unit = self.pick(self.units, pick)
        try:
            put_on_tray(session=self.session, unit=unit, actor=self.injector)
        except SessionError:
            assert self.left(unit) == 0

    @rule(pick=PICKS, amount=AMOUNTS)
    def log(self, pick, amount):
        unit = self.pick(self.units, pick)
        try:
            make_point(self.session, unit, amount=amount)
        except SessionError:
            on_tray = self.session.tray.filter(unit=unit).exists()
            assert not on_tray or amount > self.left(unit)
        else:
            self.expected[unit.pk] += amount

    @rule(pick=PICKS, other=PICKS, amount=AMOUNTS)
    def change(self, pick, other, amount):
        point, unit = self.pick(self.standing(), pick), self.pick(self.units, other)
        if point is None:
            return
        was = (point.unit_id, point.amount)
        try:
            details = point_details(unit, amount=amount)
            change_point(point=point, details=details, actor=self.injector)
        except SessionError:
            return
        self.expected[was[0]] -= was[1]
        self.expected[unit.pk] += amount

    @rule(pick=PICKS)
    def remove(self, pick):
        point = self.pick(self.standing(), pick)
        if point is not None:
            remove_point(point=point, actor=self.injector)
            self.expected[point.unit_id] -= point.amount

    @rule(pick=PICKS, amount=AMOUNTS)
    def waste(self, pick, amount):
        unit = self.pick(self.units, pick)
        try:
            record_waste(
                session=self.session, unit=unit, amount=amount, reason="Primed", actor=self.injector
            )
        except SessionError:
            return
        self.wasted[unit.pk] += amount

    @rule(pick=PICKS)
    def put_back(self, pick):
        unit = self.pick(self.units, pick)
        if self.session.tray.filter(unit=unit).exists():
            try:
                take_off_tray(
                    session=self.session,
                    unit=UnitOfStock.objects.get(pk=unit.pk),
                    actor=self.injector,
                )
            except SessionError:
                return

    @rule(choice=st.sampled_from(["wasted", "kept"]))
    def sign_and_go_on(self, choice):
        rows = list(self.session.tray.select_related("unit"))
        remainders = {row.unit_id: choice for row in rows}
        sign_session(session=self.session, remainders=remainders, actor=self.injector)
        if choice == "wasted":
            for row in rows:
                self.wasted[row.unit_id] += row.unit.remaining
        self.session = make_session(self.injector, self.patient)

    def left(self, unit) -> int:
        return unit.content - self.expected[unit.pk] - self.wasted[unit.pk]

    @invariant()
    def every_unit_balances(self):
        for unit in UnitOfStock.objects.filter(pk__in=[unit.pk for unit in self.units]):
            assert unit.content == unit.drawn + unit.wasted + unit.remaining
            assert unit.remaining >= 0
            assert (unit.drawn, unit.wasted) == (self.expected[unit.pk], self.wasted[unit.pk])
            movements = StockMovement.objects.filter(unit=unit, kind="wasted")
            assert movements.aggregate(sum=Sum("amount", default=0))["sum"] == unit.wasted

    @invariant()
    def shown_totals_are_the_drawn_ones(self):
        points = session_points(self.session)
        shown = {row.unit_key: row.amount for row in session_totals(points).per_unit}
        by_unit = Counter()
        for point in points:
            by_unit[point.unit_id] += point.amount
        assert shown == dict(by_unit)


@pytest.mark.django_db
def test_content_is_drawn_plus_waste_plus_remaining():
    run_state_machine_as_test(
        Clinic,
        settings=settings(
            max_examples=12,
            stateful_step_count=18,
            deadline=None,
            suppress_health_check=list(HealthCheck),
        ),
    )
