"""
The temperature log.

Range: a refrigerator is kept between 2 and 8 °C (USP, storage definitions in Quality Review No. 40,
1994, read). What counts as one excursion is our own rule.
"""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.sources import FRIDGE_RANGE, Confidence
from planning.temperatures import (
    FRIDGE_HIGHEST,
    FRIDGE_LOWEST,
    Excursion,
    Reading,
    TemperatureError,
    excursions,
    format_temperature,
    overdue,
    parse_temperature,
    plain_temperature,
)

MONDAY = datetime(2026, 11, 23, 9, tzinfo=UTC)


def at(hours: int) -> datetime:
    return MONDAY + timedelta(hours=hours)


def log(*temperatures: int) -> list[Reading]:
    return [Reading(at(hour), tenths) for hour, tenths in enumerate(temperatures)]


def test_the_usual_range_is_that_of_the_pharmacopoeia() -> None:
    assert (format_temperature(FRIDGE_LOWEST), format_temperature(FRIDGE_HIGHEST)) == (
        "2 °C",
        "8 °C",
    )
    assert "between 2 and 8 °C" in FRIDGE_RANGE.detail
    assert FRIDGE_RANGE.confidence is Confidence.PUBLISHED


def test_both_ends_of_the_range_are_allowed() -> None:
    assert excursions(log(20, 80, 50)) == []
    assert len(excursions(log(19))) == len(excursions(log(81))) == 1
    assert excursions([]) == []


def test_readings_outside_in_a_row_are_one_excursion() -> None:
    assert excursions(log(50, 85, 112, 90, 60, 50)) == [
        Excursion(
            first=at(1),
            last=at(3),
            after=at(0),
            before=at(4),
            least=85,
            most=112,
            lowest=20,
            highest=80,
            is_over=True,
        )
    ]


def test_a_good_reading_between_makes_two() -> None:
    warm, cold = excursions(log(90, 50, 10, 50))
    assert (warm.after, warm.before, warm.extreme) == (None, at(1), 90)
    assert (cold.after, cold.before, cold.extreme) == (at(1), at(3), 10)


def test_an_excursion_lasts_until_a_good_reading() -> None:
    (running,) = excursions(log(50, 90))
    assert (running.last, running.before, running.is_over) == (at(1), None, False)


def test_the_memory_of_the_thermometer_shows_a_night_nobody_saw() -> None:
    night = [Reading(at(0), 50), Reading(at(15), 48, coldest=-12, warmest=52)]
    (found,) = excursions(night)
    assert (found.after, found.first, found.extreme) == (at(0), at(15), -12)
    assert found.is_over
    assert found.before is None


def test_too_cold_and_too_warm_in_one_excursion_keeps_both() -> None:
    (found,) = excursions([Reading(at(0), 50, coldest=-5, warmest=95)])
    assert (found.least, found.most) == (-5, 95)
    assert found.extreme == -5  # 2.5 below, 1.5 above


def test_a_room_has_its_own_range() -> None:
    assert excursions(log(150, 250), lowest=150, highest=250) == []
    with pytest.raises(TemperatureError):
        excursions([], lowest=80, highest=20)


def test_readings_that_cannot_be_are_refused() -> None:
    with pytest.raises(TemperatureError, match="lowest since"):
        Reading(at(0), 50, coldest=51)
    with pytest.raises(TemperatureError, match="highest since"):
        Reading(at(0), 50, warmest=49)
    for wrong in ([Reading(at(1), 50), Reading(at(0), 50)], [Reading(at(0), 50)] * 2):
        with pytest.raises(TemperatureError, match="order of time"):
            excursions(wrong)


TENTHS = st.integers(-400, 400)


@given(st.lists(TENTHS, max_size=30))
def test_every_reading_outside_is_in_one_excursion_and_no_other(temperatures: list[int]) -> None:
    readings = log(*temperatures)
    found = excursions(readings)
    for reading in readings:
        holding = [each for each in found if each.first <= reading.at <= each.last]
        assert len(holding) == (not 20 <= reading.temperature <= 80)
    assert [each.is_over for each in found[:-1]] == [True] * len(found[:-1])
    for each in found:
        assert each.extreme in temperatures
        assert not 20 <= each.extreme <= 80


def test_a_reading_is_overdue_after_its_hours() -> None:
    assert overdue(None, at(0), 12)
    assert not overdue(at(0), at(12), 12)
    assert overdue(at(0), at(12) + timedelta(seconds=1), 12)
    with pytest.raises(TemperatureError):
        overdue(at(0), at(1), 0)


@pytest.mark.parametrize(
    ("text", "tenths"),
    [
        ("5.4", 54),
        ("5,4", 54),
        ("-1", -10),
        ("\u22121.5", -15),
        ("+8", 80),
        ("- 0.1", -1),
        ("0", 0),
        ("-0", 0),
        (" 5.4 °C ", 54),
        ("5.4C", 54),
        ("5°", 50),
        ("5.0", 50),
        ("-80", -800),
    ],
)
def test_a_typed_temperature_is_read(text: str, tenths: int) -> None:
    assert parse_temperature(text) == tenths


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", r"^Type degrees Celsius with the digits 0 to 9, such as 5\.4\.$"),
        ("cold", "“cold” is not a temperature"),
        ("5.", "is not a temperature"),
        (".5", "is not a temperature"),
        ("5.4.1", "is not a temperature"),
        ("٥", "is not a temperature"),
        ("--1", "is not a temperature"),
        ("5.44", "at most 1 digit after the point; “5.44” has 2"),
        ("41 °F", "This log is in °C"),
        ("54321", "is not a temperature"),
        ("101", "no temperature of a fridge or room"),
        ("-273", "no temperature of a fridge or room"),
        ("5" * 5_000, "is not a temperature"),
    ],
)
def test_what_is_no_temperature_is_refused_with_what_to_type(text: str, message: str) -> None:
    with pytest.raises(TemperatureError, match=message):
        parse_temperature(text)


def test_a_temperature_is_shown_without_a_trailing_zero() -> None:
    # ISMP list of error-prone dose designations: 5.0 is misread as 50.
    assert format_temperature(50) == "5 °C"
    assert format_temperature(-15) == "\u22121.5 °C"
    assert format_temperature(54, no_break=True) == "5.4\u00a0°C"
    with pytest.raises(TypeError):
        plain_temperature(5.4)  # type: ignore[arg-type]


@given(st.integers(-1_000, 1_000))
def test_what_is_shown_is_read_back_unchanged(tenths: int) -> None:
    assert parse_temperature(plain_temperature(tenths)) == tenths
    assert parse_temperature(format_temperature(tenths)) == tenths


@given(st.text(max_size=25))
def test_any_text_is_a_temperature_or_a_refusal(text: str) -> None:
    try:
        tenths = parse_temperature(text)
    except TemperatureError as refusal:
        assert str(refusal).endswith(".")  # noqa: PT017 - most texts are refused, some are not
    else:
        assert abs(tenths) <= 1_000
