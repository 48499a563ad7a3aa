"""Days since what a patient had elsewhere: a clinic's own figures; no published one is used."""

from datetime import date

import pytest

from planning.care import CareElsewhere, CareKind, PartialDay, Precision
from planning.flags import FlagLevel
from planning.sources import Confidence
from tests.planning.limits.sessions import by_clinic, codes, facts, filler, only

TWO_WEEKS = by_clinic(wait_days={CareKind.DENTAL: 14})


def dental(first: date | None, precision: Precision = Precision.DAY) -> CareElsewhere:
    return CareElsewhere(CareKind.DENTAL, PartialDay(first, precision))


@pytest.mark.parametrize(
    ("day", "early"), [(date(2026, 11, 11), False), (date(2026, 11, 12), True)]
)
def test_the_clinic_waits_its_own_days_after_dental_work(day: date, early: bool) -> None:
    assert codes(facts(filler(), care=(dental(day),), settings=TWO_WEEKS)) == (
        ["wait-dental"] if early else []
    )


def test_the_flag_says_what_when_and_by_whose_rule() -> None:
    flag = only(facts(filler(), care=(dental(date(2026, 11, 24)),), settings=TWO_WEEKS))
    assert flag.text == "Dental work on 2026-11-24, 1 day before; the clinic waits 14."
    assert flag.level is FlagLevel.CAUTION
    assert flag.source.confidence is Confidence.CLINIC_POLICY


def test_only_the_latest_of_a_kind_counts() -> None:
    care = (dental(date(2026, 11, 20)), dental(date(2026, 11, 24)), dental(date(2026, 1, 1)))
    assert "on 2026-11-24" in only(facts(filler(), care=care, settings=TWO_WEEKS)).text


def test_a_month_counts_from_its_last_day() -> None:
    october = dental(date(2026, 10, 1), Precision.MONTH)
    settings = by_clinic(wait_days={CareKind.DENTAL: 26})
    assert (
        "in 2026-10, as few as 25 days before"
        in only(facts(filler(), care=(october,), settings=settings)).text
    )


def test_a_recent_kind_without_a_figure_is_said_once() -> None:
    vaccine = CareElsewhere(CareKind.VACCINE, PartialDay(date(2026, 11, 20)))
    flag = only(facts(filler(), care=(dental(date(2026, 11, 1)), vaccine)))
    assert (flag.code, flag.level) == ("wait-unset", FlagLevel.NOTE)
    assert flag.text.endswith("vaccine on 2026-11-20, dental work on 2026-11-01.")


def test_an_old_one_without_a_figure_is_not_worth_a_note() -> None:
    assert codes(facts(filler(), care=(dental(date(2026, 3, 1)),))) == []


def test_a_date_nobody_knows_is_itself_a_flag_where_a_figure_needs_it() -> None:
    unknown = dental(None, Precision.UNKNOWN)
    assert codes(facts(filler(), care=(unknown,), settings=TWO_WEEKS)) == ["care-date-missing"]
    assert codes(facts(filler(), care=(unknown,))) == []
