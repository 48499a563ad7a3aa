"""
What a medical history says. The rules are the clinic's: common practice, no source; month ends are
clipped as python-dateutil does it (tests/planning/test_review_dates.py checks that).
"""

from datetime import date

import pytest

from planning.screening import Change, Given, Said, change_of, good_until, meets


@pytest.mark.parametrize(
    ("asked", "said", "speaks"),
    [
        (Said.YES, Said.YES, True),
        (Said.YES, Said.NO, False),
        # Whoever is not sure is asked by a person.
        (Said.YES, Said.UNSURE, True),
        (Said.NO, Said.UNSURE, True),
        (Said.NO, Said.NO, True),
        (Said.WRITTEN, Said.WRITTEN, True),
        (Said.WRITTEN, Said.NOTHING, False),
        (Said.WRITTEN, Said.UNSURE, False),
    ],
)
def test_a_rule_speaks_to_its_answer(asked, said, speaks):
    assert meets(asked, said) is speaks


def test_other_words_to_the_same_answer_are_a_change():
    before = {"blood-thinner": Given(Said.YES, "Aspirin")}
    assert change_of(Given(Said.YES, "Aspirin"), "blood-thinner", before) is Change.SAME
    assert change_of(Given(Said.YES, "Warfarin"), "blood-thinner", before) is Change.CHANGED
    assert change_of(Given(Said.NO), "keloid", before) is Change.NEW


@pytest.mark.parametrize(
    ("given", "months", "last"),
    [
        (date(2026, 3, 1), 12, date(2027, 3, 1)),
        (date(2024, 2, 29), 12, date(2025, 2, 28)),
        (date(2026, 8, 31), 6, date(2027, 2, 28)),
    ],
)
def test_a_history_is_gone_by_until_the_same_day(given, months, last):
    assert good_until(given, months) == last
