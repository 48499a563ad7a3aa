"""The figures of invented months, each worked out by hand."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

import pytest

from clinic.audit.services import acting
from clinic.hours.models import WorkingTime
from clinic.policy.models import Closure
from clinic.sites.models import Site
from clinic.staff.models import User
from planning.desk_figures import ReviewCounts, VisitCounts
from planning.stretches import Span, around
from records.appointments.enums import AppointmentState
from records.appointments.services.booking import release_offer
from records.appointments.services.states import set_state
from records.demo.clock import clock_at
from records.figures.enums import GroupBy
from records.figures.queries.asked import Asked
from records.figures.queries.report import report
from records.figures.queries.reviews import wait_for_review
from records.reviews.models import Review
from tests.factories import make_review, make_room, make_user
from tests.records.figures.conftest import NOW, TODAY


def reckoned(asked):
    return report(asked, NOW)


def without_hours(counts: VisitCounts) -> VisitCounts:
    return replace(counts, working_minutes=None)


def test_a_month_beside_the_one_before(november, visits):
    visits("done", 6, date(2026, 11, 2))
    visits("did_not_attend", 2, date(2026, 11, 10))
    visits("done", 3, date(2026, 10, 31), hour=14)
    visits("booked", 1, date(2026, 11, 20))
    told = reckoned(november)
    # The third of three from 31 October on and the second lie in November.
    assert without_hours(told.all_visits.now) == VisitCounts(
        took_place=8, did_not_attend=2, unmarked=1, minutes=240
    )
    assert without_hours(told.all_visits.before) == VisitCounts(took_place=1, minutes=30)


def test_the_month_ends_by_the_clinics_clock(november, visits):
    """31 October, 23:30 UTC is still October in London, though summer time has ended."""
    [visit] = visits("done", 1, date(2026, 10, 31))
    visit.starts_at = datetime(2026, 10, 31, 23, 30, tzinfo=UTC)
    visit.save()
    told = reckoned(november)
    assert (told.all_visits.now.took_place, told.all_visits.before.took_place) == (0, 1)


def test_cancellations_are_late_by_the_moment_the_trail_has(november, visits, desk):
    early, late = visits("booked", 2, date(2026, 11, 10))
    for visit, hours in ((early, 25), (late, 23)):
        with clock_at(visit.starts_at - timedelta(hours=hours)):
            set_state(appointment=visit, state=AppointmentState.CANCELLED, actor=desk, reason="Ill")
    visits("cancelled", 1, date(2026, 11, 20))
    counts = reckoned(november).all_visits.now
    # Of the third nobody knows when.
    assert (counts.cancelled_late, counts.cancelled_early) == (1, 2)


def test_an_offer_nobody_took_was_never_a_visit(november, visits, desk):
    fields = {"held_until": datetime(2026, 11, 9, tzinfo=UTC)}
    expired, _ = visits("offered", 2, date(2026, 11, 10), **fields)
    with acting(desk) as trail:
        release_offer(expired, trail)
    assert without_hours(reckoned(november).all_visits.now) == VisitCounts()


def test_what_has_not_begun_does_not_count(visits):
    visits("booked", 3, TODAY)
    running = reckoned(Asked(around(TODAY, Span.MONTH), TODAY))
    assert running.asked.is_running
    assert running.all_visits.now.unmarked == 1


@pytest.fixture
def works_mornings(injector):
    """Mondays 9 to 12, from before the first day of any test."""
    User.objects.update(date_joined=datetime(2020, 1, 1, tzinfo=UTC))
    return WorkingTime.objects.create(
        person=injector, site=Site.objects.create(name="Harbour"), weekday=1,
        starts=time(9), ends=time(12), from_on=date(2020, 1, 1),
    )  # fmt: skip


def test_utilisation_is_of_the_hours_less_closures(november, visits, works_mornings):
    """November 2026 has five Mondays; on one the clinic is closed: 12 hours."""
    Closure.objects.create(
        starts_on=date(2026, 11, 9), ends_on=date(2026, 11, 9), reason="Training"
    )
    visits("done", 4, date(2026, 11, 16), minutes=45)
    [row] = reckoned(november).visits
    assert (row.now.minutes, row.now.working_minutes) == (180, 720)
    assert row.now.utilisation == 1 / 4


def test_a_site_has_the_hours_worked_there(november, visits, works_mornings):
    visits("done", 2, date(2026, 11, 16), room=make_room("Room 1", site="Harbour"))
    [row] = reckoned(replace(november, by=GroupBy.SITE)).visits
    assert (row.label, row.now.took_place, row.now.working_minutes) == ("Harbour", 2, 900)


def test_visits_are_told_apart_by_kind_and_room(november, visits):
    visits("done", 2, date(2026, 11, 2), kind="review", room=make_room("Room 1"))
    visits("done", 1, date(2026, 11, 10))
    by_kind = reckoned(replace(november, by=GroupBy.KIND)).visits
    assert [(row.label, row.now.took_place) for row in by_kind if row.now.took_place] == [
        ("Review", 2), ("Treatment", 1),
    ]  # fmt: skip
    by_room = reckoned(replace(november, by=GroupBy.ROOM)).visits
    assert [(row.label, row.now.took_place) for row in by_room if row.now.took_place] == [
        ("Room 1, Larkstone", 2), ("Without a room", 1),
    ]  # fmt: skip


def test_one_practitioner_alone(november, visits, injector):
    other = make_user("second", is_injector=True)
    visits("done", 2, date(2026, 11, 2))
    visits("done", 1, date(2026, 11, 20), practitioner=other)
    told = reckoned(replace(november, person_id=other.pk))
    assert told.all_visits.now.took_place == 1
    assert [row.label for row in told.visits] == ["Second"]


def test_the_months_drawn_add_up_to_the_days(november, visits):
    visits("done", 40, date(2026, 10, 15))
    told = reckoned(november)
    assert len(told.months) == 12
    drawn = {month.first: month.visits.took_place for month in told.months}
    assert (drawn[date(2026, 10, 1)], drawn[date(2026, 11, 1)]) == (17, 23)
    assert [month.first for month in told.months if month.is_asked] == [date(2026, 11, 1)]
    assert told.all_visits.now.took_place == 23


def close(review: Review, outcome: str, day: date) -> None:
    Review.objects.filter(pk=review.pk).update(
        outcome=outcome, closed_by=review.session.injector, excuse="Moved away",
        closed_at=datetime.combine(day, time(12), tzinfo=UTC),
    )  # fmt: skip


def test_reviews_count_by_their_last_day(november, injector, patient):
    """Due on 2 November, they suit until the 9th; treated on 19 October."""
    reviews = [make_review(injector, patient, date(2026, 11, 2)) for _ in range(4)]
    for review, outcome, day in [
        (reviews[0], "done", date(2026, 11, 9)),
        (reviews[1], "done", date(2026, 11, 10)),
        (reviews[2], "excused", date(2026, 11, 3)),
    ]:
        close(review, outcome, day)
    told = reckoned(november)
    expected = ReviewCounts(in_time=1, late=1, still_open=1, excused=1)
    assert told.all_reviews.now.counts == told.injectors[0].now.counts == expected
    # The treatments were in October: two had a review, one waits, one was excused.
    waits = told.all_reviews.before.waits
    assert (waits.known, waits.waiting) == (2, 2)
    assert told.all_reviews.now.waits.count == 0


def test_a_review_whose_last_day_is_today_is_not_missed(injector, patient):
    make_review(injector, patient, TODAY - timedelta(days=7))
    told = reckoned(Asked(around(TODAY, Span.MONTH), TODAY))
    assert told.all_reviews.now.counts == ReviewCounts()


TREATED = date(2026, 11, 1)


def on(day: int) -> date:
    return date(2026, 11, day)


@pytest.mark.parametrize(
    ("closes", "days", "has_happened"),
    [
        ([("done", on(15)), ("done", on(11)), ("", None)], 10, True),
        ([("", None)], 39, False),
        ([("excused", on(6)), ("", None)], 39, False),
        ([("excused", on(6)), ("excused", on(9))], 8, False),
    ],
)
def test_a_treatment_waits_for_the_first_of_its_reviews(closes, days, has_happened):
    wait = wait_for_review(TREATED, closes, TODAY)
    assert (wait.days, wait.has_happened) == (days, has_happened)


def test_a_treatment_written_down_afterwards_waited_no_days():
    assert wait_for_review(date(2026, 11, 20), [("done", on(15))], TODAY).days == 0


def test_it_takes_as_many_queries_for_many_visits_as_for_one(
    november, visits, injector, patient, django_assert_max_num_queries
):
    visits("done", 1, date(2026, 11, 2))
    with django_assert_max_num_queries(13) as few:
        reckoned(november)
    make_user("second", is_injector=True)
    visits("done", 20, date(2026, 11, 5), hour=14)
    visits("cancelled", 3, date(2026, 10, 5))
    for due in (2, 3, 4):
        make_review(injector, patient, date(2026, 11, due))
    with django_assert_max_num_queries(len(few)):
        reckoned(november)


def test_nobody_worked_before_they_came(november, visits, works_mornings, injector):
    """The first visit on 16 November: that Monday and the two after it, three hours each."""
    User.objects.update(date_joined=datetime(2026, 11, 20, tzinfo=UTC))
    visits("done", 1, date(2026, 11, 16))
    assert reckoned(november).all_visits.now.working_minutes == 540
