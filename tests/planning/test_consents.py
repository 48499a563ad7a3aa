"""
When a consent holds.

The boundary case of the cooling-off time (consultation on 1 June at 10:00, 7 days: not before
8 June at 10:00) is reckoned by hand, 7 x 24 = 168 hours; that the later reading counts is common
practice, no source. Clocks of London by the Summer Time Order 2002: back on 25 October 2026 at
02:00, forward on 28 March 2027 at 01:00.
"""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from planning.consents import (
    Answer,
    ConsentKind,
    ConsentState,
    Outcome,
    cooling_off,
    kinds_for,
    state_of,
)
from planning.vocabulary import ProductKind

LONDON = ZoneInfo("Europe/London")
GIVEN = Answer(Outcome.GIVEN, has_current_text=True, valid_until=date(2027, 6, 1))


def at(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=LONDON)


def test_a_week_to_think_ends_at_the_hour_of_the_consultation():
    wait = cooling_off(at("2026-06-01 10:00"), 7)
    assert (wait.full_at, wait.day) == (at("2026-06-08 10:00"), date(2026, 6, 8))
    assert wait.ends_at == at("2026-06-08 10:00")


@pytest.mark.parametrize(
    ("asked", "state"),
    [
        ("2026-06-08 00:00", ConsentState.COOLING_OFF),  # the calendar day alone is not enough
        ("2026-06-08 09:59", ConsentState.COOLING_OFF),
        ("2026-06-08 10:00", ConsentState.VALID),
    ],
)
def test_nobody_is_treated_before_the_cautious_reading(asked, state):
    wait = cooling_off(at("2026-06-01 10:00"), 7)
    assert state_of(replace(GIVEN, not_before=wait.ends_at), at(asked)) is state


@pytest.mark.parametrize(
    ("discussed", "days", "full", "cautious"),
    [
        # 25 October has 25 hours: a day of 24 ends on that same day, so the calendar day counts.
        ("2026-10-25 00:30", 1, "2026-10-25 23:30", "2026-10-26 00:00"),
        ("2026-10-24 10:00", 7, "2026-10-31 09:00", "2026-10-31 09:00"),
        # 28 March has 23 hours: 24 of them end an hour later by the clock.
        ("2027-03-27 10:00", 1, "2027-03-28 11:00", "2027-03-28 11:00"),
        ("2027-03-27 10:00", 0, "2027-03-27 10:00", "2027-03-27 10:00"),
    ],
)
def test_the_change_of_clocks_shortens_no_cooling_off_time(discussed, days, full, cautious):
    wait = cooling_off(at(discussed), days)
    assert wait.full_at.astimezone(UTC) == at(full).astimezone(UTC)
    assert wait.ends_at.astimezone(UTC) == at(cautious).astimezone(UTC)
    assert wait.ends_at.astimezone(UTC) - at(discussed).astimezone(UTC) >= timedelta(days=days)


@pytest.mark.parametrize(
    ("discussed", "days"),
    [(at("2026-06-01 10:00").replace(tzinfo=None), 7), (at("2026-06-01 10:00"), -1)],
)
def test_a_moment_without_a_zone_and_negative_days_are_refused(discussed, days):
    with pytest.raises(ValueError, match="cooling-off"):
        cooling_off(discussed, days)


@pytest.mark.parametrize(
    ("answer", "state"),
    [
        (None, ConsentState.NONE),
        (GIVEN, ConsentState.VALID),
        (Answer(Outcome.REFUSED, has_current_text=True), ConsentState.REFUSED),
        (Answer(Outcome.DECLINED, has_current_text=True), ConsentState.DECLINED),
        (replace(GIVEN, is_withdrawn=True), ConsentState.WITHDRAWN),
        (replace(GIVEN, has_current_text=False), ConsentState.TEXT_CHANGED),
        # Asked anew in any case: what is longer ago is said first.
        (
            replace(GIVEN, has_current_text=False, valid_until=date(2026, 5, 31)),
            ConsentState.RAN_OUT,
        ),
    ],
)
def test_each_answer_has_its_state(answer, state):
    assert state_of(answer, at("2026-06-10 12:00")) is state


def test_a_consent_holds_to_the_end_of_its_last_day():
    assert state_of(GIVEN, at("2027-06-01 23:59")) is ConsentState.VALID
    assert state_of(GIVEN, at("2027-06-02 00:00")) is ConsentState.RAN_OUT


@pytest.mark.parametrize(
    ("products", "kinds"),
    [
        ([], []),
        ([ProductKind.ANAESTHETIC], []),
        ([ProductKind.OTHER_FILLER], [ConsentKind.FILLER]),
        (
            [ProductKind.HYALURONIDASE, ProductKind.HA_FILLER, ProductKind.TOXIN],
            [ConsentKind.TOXIN, ConsentKind.FILLER, ConsentKind.HYALURONIDASE],
        ),
    ],
)
def test_what_is_given_says_which_consents_are_asked_for(products, kinds):
    assert kinds_for(products) == kinds
