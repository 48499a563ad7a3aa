"""
After any sequence of acts by several people at once the books balance to the microlitre, and
nothing was opened while it was in quarantine.

Each step of a run lets up to four people act in the same moment, in threads with connections of
their own. `make ledger STEPS=1000` takes as many steps as one wants; this run is a short one.
"""

import os
from collections import Counter

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule, run_state_machine_as_test

from tests.ledger.books import DONE, Books
from tests.records.sessions.services.test_races import at_once

# Weighted towards opening and drawing, without which there is little to balance.
ACTS = [
    "open", "open", "open", "log", "log", "log", "change", "change", "remove", "restore", "waste",
    "put_back", "sign", "receive", "receive", "take_out", "discard", "move", "count", "count",
    "hold_lot", "hold_range", "lift", "lift", "lift",
]  # fmt: skip
NUMBERS = st.integers(0, 999)
ACT = st.tuples(st.sampled_from(ACTS), NUMBERS, NUMBERS, NUMBERS)
STEPS = int(os.environ.get("LEDGER_STEPS", "20"))
RUNS = int(os.environ.get("LEDGER_RUNS", "3"))

tally: Counter[str] = Counter()


class SeveralPeople(RuleBasedStateMachine):
    def __init__(self) -> None:
        super().__init__()
        self.books = Books()
        tally["runs"] += 1

    @rule(acts=st.lists(ACT, min_size=2, max_size=4))
    def act_at_once(self, acts):
        answers = at_once([self.books.attempt(*act) for act in acts])
        assert [answer for answer in answers if not (answer and isinstance(answer, str))] == []
        tally["acts"] += len(acts)
        tally["done"] += answers.count(DONE)

    @invariant()
    def the_books_balance(self):
        self.books.check()


@pytest.mark.django_db(transaction=True)
def test_the_books_balance_whoever_does_what_at_once(capsys):
    run_state_machine_as_test(
        SeveralPeople,
        settings=settings(
            max_examples=RUNS, stateful_step_count=STEPS, deadline=None, print_blob=True,
            suppress_health_check=list(HealthCheck),
        ),
    )  # fmt: skip
    with capsys.disabled():
        print(  # noqa: T201
            f"\nledger: {tally['acts']:,} acts in {tally['runs']} runs, {tally['done']:,} done and "
            "the others refused, all balanced"
        )
    assert tally["done"] > tally["acts"] / 4
