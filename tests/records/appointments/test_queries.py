"""What the front desk is told before it books. Ages: planning/ages.py; worked example by hand."""

from datetime import UTC, date, datetime

import pytest
from django.utils.timezone import get_current_timezone

from clinic.policy.models import ClinicPolicy, Closure
from clinic.policy.queries import current_policy, open_days
from planning.booking_advice import Advice
from records.appointments.queries.advice import advice_for
from records.appointments.queries.day import day_advice, midnight_advice
from tests.factories import make_patient

pytestmark = pytest.mark.django_db
TODAY = date(2026, 11, 25)  # a Wednesday


def titles(advice) -> list[str]:
    return [row.title for row in advice]


def asked(day: date) -> list[Advice]:
    """What booking asks about `day`, by the clinic's policy."""
    days = open_days(current_policy(), on_or_after=day)
    return list(day_advice(day, days, today=TODAY))


def test_an_open_day_to_come_needs_no_remark():
    assert titles(asked(date(2026, 11, 26))) == []


def test_a_weekday_the_clinic_is_closed_is_pointed_out():
    (advice,) = asked(date(2026, 11, 28))
    assert advice.title == "The clinic is closed on Saturday 28 November 2026"
    assert advice.source == "Clinic policy: opening days and closures"


def test_a_closure_is_pointed_out_on_its_days_only():
    Closure.objects.create(
        starts_on=date(2026, 12, 24), ends_on=date(2026, 12, 31), reason="Winter break"
    )
    assert titles(asked(date(2026, 12, 23))) == []
    assert len(titles(asked(date(2026, 12, 31)))) == 1


def test_a_day_that_has_passed_is_pointed_out():
    assert titles(asked(date(2026, 11, 24))) == ["That day has passed"]


def test_a_slip_in_the_year_is_pointed_out():
    """Common practice, no source: nobody books further ahead than a yearly review."""
    assert titles(asked(date(2027, 11, 25))) == []
    (advice,) = asked(date(2027, 11, 26))
    assert advice.title == "Friday 26 November 2027 is more than a year from now"
    assert advice.source == "Common practice, no source"


# By hand. Clocks go back on 31 October 2027 at 02:00.
@pytest.mark.parametrize(
    ("starts", "minutes", "said"),
    [
        ("2026-12-01 20:30", 30, []),
        ("2026-12-01 23:30", 60, ["It would end after midnight, on Wednesday at 00:30"]),
        ("2027-10-30 23:30", 180, ["It would end after midnight, on Sunday at 01:30"]),
    ],
)
def test_a_visit_into_the_next_day_is_pointed_out(starts, minutes, said):
    starts_at = datetime.fromisoformat(starts).replace(tzinfo=get_current_timezone())
    assert titles(midnight_advice(starts_at.astimezone(UTC), minutes)) == said


@pytest.mark.parametrize(
    ("on", "remarks"),
    [
        (date(2026, 11, 24), ["The patient is 17 on that day; the clinic treats from 18"]),
        (date(2026, 11, 25), []),  # the birthday counts
    ],
)
def test_the_clinic_s_minimum_age_counts_on_the_day_of_the_visit(desk, on, remarks):
    patient = make_patient(desk, birth_date=date(2008, 11, 25))
    assert titles(advice_for(patient, "call", on)) == remarks


def test_a_higher_minimum_age_names_itself_as_the_source(desk):
    ClinicPolicy.objects.create(minimum_age_years=21)
    (advice,) = advice_for(make_patient(desk, birth_date=date(2008, 1, 1)), "call", TODAY)
    assert advice.source == "Clinic policy: minimum age 21 years"
