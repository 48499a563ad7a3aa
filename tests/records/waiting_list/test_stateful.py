"""
Offers in any order of acts, against a model of a few lines: one freed time, and people in a queue.

The model: the time is held by at most one; whoever declined it or let it lapse is not asked again
about it; the first of the others is offered it; who accepts is booked, and then it is over.
"""

import pytest
from django.db import transaction
from django.utils import timezone
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from records.appointments.models import Appointment
from records.waiting_list.errors import NobodyFits, OfferClosed
from records.waiting_list.models import Offer
from records.waiting_list.services.offers import (
    accept,
    decline,
    expire_offers,
    offer_time,
    remove_entry,
)
from tests.factories import make_patient, make_waiting_entry
from tests.records.waiting_list.conftest import free


class Queue(RuleBasedStateMachine):
    desk = injector = None  # set by the test

    def __init__(self) -> None:
        super().__init__()
        self.savepoint = transaction.savepoint()
        self.queue: list = []  # entries in order; those who may still be asked
        self.held = self.booked = None
        self.names = iter(f"Person {number}" for number in range(1000))

    def teardown(self) -> None:
        transaction.savepoint_rollback(self.savepoint)

    @initialize()
    def a_time_comes_free(self) -> None:
        self.freed = free(self.desk, self.injector, "2027-03-05 10:00")

    @rule(urgent=st.booleans(), suits=st.booleans())
    def somebody_waits(self, urgent: bool, suits: bool) -> None:
        entry = make_waiting_entry(
            self.desk, make_patient(self.desk, next(self.names)), kind="consultation",
            notice_hours=0, is_urgent=urgent, urgent_reason="Wedding" if urgent else "",
            weekdays=[5] if suits else [1],
        )  # fmt: skip
        if suits:
            self.queue.append(entry)
            self.queue.sort(key=lambda one: (not one.is_urgent, one.pk))

    def goes_on(self) -> None:
        self.held = self.queue.pop(0) if self.queue and self.booked is None else None

    @precondition(lambda self: self.held is None)
    @rule()
    def the_desk_offers_it(self) -> None:
        if self.booked is not None or not self.queue:
            with pytest.raises(NobodyFits):
                offer_time(freed=self.freed, actor=self.desk)
            return
        offer_time(freed=self.freed, actor=self.desk)
        self.goes_on()

    @precondition(lambda self: self.held is not None)
    @rule()
    def it_is_taken(self) -> None:
        accept(self.offer)
        self.held, self.booked = None, self.held

    @precondition(lambda self: self.held is not None)
    @rule()
    def it_is_not_wanted(self) -> None:
        decline(self.offer, actor=self.desk)
        self.goes_on()

    @precondition(lambda self: self.held is not None)
    @rule()
    def nobody_answers(self) -> None:
        Appointment.objects.filter(pk=self.offer.appointment_id).update(held_until=timezone.now())
        with pytest.raises(OfferClosed):
            accept(self.offer)
        expire_offers()
        self.goes_on()

    @precondition(lambda self: self.held is not None)
    @rule()
    def who_was_asked_is_taken_off(self) -> None:
        remove_entry(entry=self.held, reason="Moved away", actor=self.desk)
        self.goes_on()

    @precondition(lambda self: self.held is not None or self.booked is not None)
    @rule()
    def the_worker_looks(self) -> None:
        expire_offers()

    @property
    def offer(self) -> Offer:
        return Offer.objects.open().get()

    @invariant()
    def model_and_tables_agree(self) -> None:
        held = [offer.entry for offer in Offer.objects.open()]
        assert held == ([] if self.held is None else [self.held])
        states = sorted(Appointment.objects.taking_place().values_list("state", flat=True))
        assert states == (["offered"] if held else []) + (["booked"] if self.booked else [])
        if self.booked is not None:
            assert Offer.objects.get(answer="accepted").entry == self.booked


@pytest.mark.django_db
def test_any_order_of_acts_agrees_with_the_model(monday, desk, injector):
    Queue.desk, Queue.injector = desk, injector
    run_state_machine_as_test(
        Queue, settings=settings(max_examples=12, stateful_step_count=12, deadline=None)
    )
