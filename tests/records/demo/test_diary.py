from datetime import UTC, datetime, timedelta

import pytest
from django.utils import timezone

from records.demo.diary import Diary

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)


def test_acts_happen_in_the_order_of_time_those_noted_by_acts_too():
    diary, happened = Diary(), []

    def tell(word: str) -> None:
        happened.append((word, timezone.now()))

    def sign() -> None:
        tell("signed")
        diary.note(NOON + timedelta(hours=1), lambda: tell("review"))

    diary.note(NOON + timedelta(hours=2), lambda: tell("home"))
    diary.note(NOON, lambda: tell("came"))
    diary.note(NOON, sign)
    diary.carry_out()
    assert happened == [
        ("came", NOON),
        ("signed", NOON),
        ("review", NOON + timedelta(hours=1)),
        ("home", NOON + timedelta(hours=2)),
    ]


def test_nothing_is_noted_for_a_time_that_is_over():
    diary = Diary()
    diary.note(NOON, lambda: diary.note(NOON - timedelta(seconds=1), list))
    with pytest.raises(ValueError, match="is over"):
        diary.carry_out()
