"""
What the desk is told before it books. The clinic's own limits decide; dates are reckoned by hand.

That an early top-up adds to an unsettled result, and that consent needs time, is common practice,
no source; that the age is counted by month and day: see tests of planning/ages.py.
"""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from planning.booking_advice import (
    BookingPolicy,
    ConsentOnRecord,
    OpenReview,
    PatientFacts,
    booking_advice,
)

DAY = date(2026, 12, 1)
POLICY = BookingPolicy(
    minimum_age_years=18, top_up_wait_days=14, toxin_interval_days=90, cooling_off_days=7
)
PATIENT = PatientFacts(birth_date=date(1980, 5, 2), treated_on=date(2026, 1, 5))
KINDS = ["consultation", "treatment", "review", "top_up", "complication_check", "call"]


def titles(kind, patient=PATIENT, day=DAY, policy=POLICY):
    return [advice.title for advice in booking_advice(kind, day, patient, policy)]


def test_a_patient_of_whom_nothing_is_open_asks_for_no_advice():
    assert [titles(kind) for kind in KINDS] == [[]] * len(KINDS)


@pytest.mark.parametrize("kind", KINDS)
def test_somebody_too_young_is_pointed_out_whatever_is_booked(kind):
    young = replace(PATIENT, birth_date=date(2008, 12, 2))
    assert titles(kind, young)[0] == "The patient is 17 on that day; the clinic treats from 18"
    assert titles(kind, young, day=date(2026, 12, 2)) == []


@pytest.mark.parametrize(
    ("treated", "said"),
    [
        (date(2026, 11, 17), []),  # the fourteenth day
        (date(2026, 11, 18), ["Too early for a top-up: not before Wednesday 2 December 2026"]),
        (None, ["No treatment on record that could be topped up"]),
    ],
)
def test_a_top_up_waits_as_long_as_the_clinic_says(treated, said):
    assert titles("top_up", replace(PATIENT, treated_on=treated)) == said


def test_the_date_of_a_top_up_on_record_goes_before_the_general_wait():
    review = OpenReview(True, date(2026, 12, 5), date(2026, 12, 8), date(2026, 12, 20))
    early = replace(PATIENT, treated_on=date(2026, 11, 30), reviews=[review])
    said = ["Too early for the top-up: not before Saturday 5 December 2026"]
    assert titles("top_up", early) == said
    assert titles("top_up", early, day=date(2026, 12, 5)) == []


def test_a_review_is_not_booked_before_the_first_of_those_that_are_open():
    later = OpenReview(False, date(2026, 12, 12), date(2026, 12, 14), date(2026, 12, 20))
    first = OpenReview(True, date(2026, 12, 5), date(2026, 12, 8), date(2026, 12, 20))
    asked = replace(PATIENT, reviews=[later, first])
    said = ["Too early for the review: wanted from Saturday 5 December 2026"]
    assert titles("review", asked) == said
    assert titles("review", asked, day=date(2026, 12, 5)) == []


def test_nothing_is_asked_that_the_clinic_does_not_check():
    policy = replace(POLICY, top_up_wait_days=None, cooling_off_days=None)
    recent = replace(PATIENT, treated_on=DAY - timedelta(days=1))
    assert titles("top_up", recent, policy=policy) == []
    assert titles("treatment", replace(PATIENT, treated_on=None), policy=policy) == []


@pytest.mark.parametrize(
    ("consulted", "said"),
    [
        (None, ["No consultation on record before this first treatment"]),
        (date(2026, 11, 25), ["Within the cooling-off time: not before Wednesday 2 December 2026"]),
        (date(2026, 11, 24), []),
    ],
)
def test_a_first_treatment_keeps_the_cooling_off_time(consulted, said):
    first = replace(PATIENT, treated_on=None, consulted_on=consulted)
    assert titles("treatment", first) == said
    assert titles("treatment", replace(first, treated_on=date(2020, 1, 1))) == []


@pytest.mark.parametrize(
    ("until", "said"),
    [
        ([], ["No consent in force"]),
        ([date(2026, 12, 1)], []),  # its last day
        (
            [date(2026, 11, 30), date(2026, 11, 20)],
            [
                "The consent runs out before that day: it holds until Monday 30 November 2026",
            ],
        ),
        ([date(2026, 11, 20), date(2027, 11, 20)], []),
    ],
)
@pytest.mark.parametrize("kind", ["treatment", "top_up"])
def test_a_treatment_is_booked_on_a_day_on_which_a_consent_holds(kind, until, said):
    """The latest day, reckoned by hand; which consent is asked for, the practitioner knows."""
    agreed = [ConsentOnRecord(date(2026, 1, 4), day) for day in until]
    assert titles(kind, replace(PATIENT, consents=agreed)) == said
    assert titles("review", replace(PATIENT, consents=agreed)) == []


def test_the_talk_about_a_consent_is_what_the_cooling_off_time_counts_from():
    agreed = [ConsentOnRecord(date(2026, 11, 25), date(2027, 11, 25))]
    first = replace(PATIENT, treated_on=None, consulted_on=date(2026, 1, 1), consents=agreed)
    assert titles("treatment", first) == [
        "Within the cooling-off time: not before Wednesday 2 December 2026"
    ]


def test_the_interval_between_two_toxin_treatments_is_a_note_that_says_who_to_ask():
    (advice,) = booking_advice(
        "treatment", DAY, replace(PATIENT, toxin_on=date(2026, 9, 3)), POLICY
    )
    assert advice.level == "note"
    # 3 September and 90 days: 27 days left of September, 31, 30, then the second of December.
    assert advice.title.endswith("not before Wednesday 2 December 2026")
    assert "Ask the injector" in advice.text
    assert titles("treatment", replace(PATIENT, toxin_on=date(2026, 9, 2))) == []


def test_a_review_that_is_overdue_by_then_is_booked_first():
    review = OpenReview(False, date(2026, 11, 10), date(2026, 11, 14), date(2026, 11, 30))
    late = replace(PATIENT, reviews=[review])
    said = ["A review is still open then: wanted by Monday 30 November 2026"]
    assert titles("treatment", late) == said
    assert titles("treatment", late, day=date(2026, 11, 30)) == []
    assert titles("review", late) == [], "that is what is being booked"


def test_an_open_event_says_nothing_clinical_and_an_account_note_comes_last():
    patient = replace(PATIENT, has_open_event=True, account_notes=["EUR 40.00 outstanding"])
    advice = booking_advice("treatment", DAY, patient, POLICY)
    assert [one.title for one in advice] == [
        "Ask the injector before you book",
        "EUR 40.00 outstanding",
    ]
    assert not {"adverse", "complication", "event"} & set(advice[0].text.lower().split())
    assert titles("complication_check", replace(PATIENT, has_open_event=True)) == []


def test_every_remark_names_its_source():
    patient = PatientFacts(date(2010, 1, 1), toxin_on=DAY, has_open_event=True, account_notes=["x"])
    for kind in KINDS:
        assert all(one.source for one in booking_advice(kind, DAY, patient, POLICY))
