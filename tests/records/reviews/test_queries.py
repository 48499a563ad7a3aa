"""The work list: who is on it, how each stands, and what it costs."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from records.appointments.enums import AppointmentState
from records.appointments.models import Appointment
from records.appointments.services.states import set_state
from records.patients.models import Patient
from records.reviews.enums import Standing
from records.reviews.models import Review
from records.reviews.queries.work_list import (
    WorkList,
    open_reviews,
    patient_reviews,
    seen_since_treatment,
)
from records.reviews.services.acts import excuse, mark_done
from records.sessions.models import TreatmentSession
from tests.bench.building import day, fill, moment, sql, uuid_of
from tests.factories import make_appointment, make_patient, make_review

pytestmark = pytest.mark.django_db
DUE = date(2026, 12, 9)


def standing(on: date) -> Standing:
    (row,) = open_reviews(on, until=date(2027, 12, 31))
    return row.standing


@pytest.fixture
def review(injector, patient):
    return make_review(injector, patient, DUE)


# By hand: due on the 9th, seven days of grace to the 16th inclusive.
@pytest.mark.parametrize(
    ("on", "expected"),
    [
        ("2026-12-08", Standing.PLANNED),
        ("2026-12-09", Standing.DUE),
        ("2026-12-16", Standing.DUE),
        ("2026-12-17", Standing.OVERDUE),
    ],
)
def test_a_review_is_due_on_its_day_and_overdue_after_the_grace(review, on, expected):
    assert standing(date.fromisoformat(on)) is expected


@pytest.mark.parametrize(
    ("day", "state", "seen"),
    [
        ("2026-12-09", AppointmentState.DONE, True),
        ("2026-12-09", AppointmentState.ARRIVED, True),
        ("2026-12-09", None, False),  # only booked
        ("2026-12-09", AppointmentState.DID_NOT_ATTEND, False),
        ("2026-11-26", AppointmentState.DONE, True),
        ("2026-11-25", AppointmentState.DONE, False),  # the day of the treatment itself
    ],
)
def test_a_patient_was_seen_when_an_appointment_took_place_after_the_treatment(
    desk, injector, review, day, state, seen
):
    visit = make_appointment(desk, review.patient, injector, f"{day} 15:00")
    other = make_appointment(desk, make_patient(desk, "Ben Example"), injector, "2026-12-09 16:00")
    set_state(appointment=other, state=AppointmentState.DONE, actor=desk)
    if state:
        set_state(appointment=visit, state=state, actor=desk)
    assert seen_since_treatment(review) is seen


def test_a_later_session_is_a_visit_too(injector, review):
    assert not seen_since_treatment(review)
    make_review(injector, review.patient, DUE + timedelta(days=1))
    assert seen_since_treatment(review)


# By hand: the last day that suits is the 16th.
@pytest.mark.parametrize(("on", "days"), [("2026-12-13", -3), ("2026-12-16", 0), ("2026-12-18", 2)])
def test_late_counts_from_the_last_day_that_suits(review, on, days):
    (row,) = open_reviews(date.fromisoformat(on), until=date(2027, 12, 31))
    assert row.days_late == days


def test_a_window_that_ends_with_the_due_day_means_overdue_the_next_day(injector, patient):
    make_review(injector, patient, DUE, latest_on=DUE)
    assert standing(DUE) is Standing.DUE
    assert standing(DUE + timedelta(days=1)) is Standing.OVERDUE


def book(desk, injector, review, starts_at: str):
    review.appointment = make_appointment(desk, review.patient, injector, starts_at)
    review.save(update_fields=["appointment"])
    return review.appointment


def test_a_booking_counts_through_its_own_day(desk, injector, review):
    book(desk, injector, review, "2026-12-18 00:00")
    assert standing(date(2026, 12, 17)) is Standing.BOOKED
    assert standing(date(2026, 12, 18)) is Standing.BOOKED
    assert standing(date(2026, 12, 19)) is Standing.OVERDUE


@pytest.mark.parametrize("state", [AppointmentState.CANCELLED, AppointmentState.DID_NOT_ATTEND])
def test_a_review_is_open_again_when_its_appointment_falls_through(desk, injector, review, state):
    appointment = book(desk, injector, review, "2026-12-18 10:00")
    set_state(appointment=appointment, state=state, actor=desk, reason="Has a cold")
    assert standing(date(2026, 12, 17)) is Standing.OVERDUE


def test_a_time_that_is_only_offered_is_no_booking(desk, injector, review):
    appointment = book(desk, injector, review, "2026-12-18 10:00")
    Appointment.objects.filter(pk=appointment.pk).update(
        state=AppointmentState.OFFERED, held_until=appointment.starts_at
    )
    assert standing(DUE) is Standing.DUE
    assert review in Review.objects.standing(Standing.DUE, on=DUE)
    assert review in Review.objects.not_booked(DUE)


def test_a_visit_that_is_done_leaves_the_review_on_the_list(desk, injector, review):
    appointment = book(desk, injector, review, "2026-12-10 10:00")
    set_state(appointment=appointment, state=AppointmentState.DONE, actor=desk)
    (row,) = open_reviews(date(2026, 12, 11), until=DUE)
    assert (row.appointment_state, row.standing) == (AppointmentState.DONE, Standing.DUE)


def test_closed_reviews_are_not_on_the_list(desk, injector, patient, review):
    excused = make_review(injector, patient, DUE + timedelta(days=1))
    still_open = make_review(injector, patient, DUE + timedelta(days=2))
    mark_done(review=review, actor=desk)
    excuse(review=excused, reason="Moved abroad", actor=desk)
    assert [row.pk for row in open_reviews(DUE, until=date(2027, 12, 31))] == [still_open.pk]


def test_the_list_ends_with_the_day_asked_and_begins_with_the_oldest(injector, patient):
    days = [DUE, DUE - timedelta(days=30), DUE + timedelta(days=1), DUE - timedelta(days=1)]
    for due_on in days:
        make_review(injector, patient, due_on)
    assert [row.due_on for row in open_reviews(DUE, until=DUE)] == sorted(days)[:3]


def test_a_row_says_whom_to_call_and_how(desk, injector):
    patient = make_patient(
        desk, "שרה כהן", phone="07700 900123", email="s@example.org", preferred_channel="email"
    )
    make_review(injector, patient, DUE)
    (row,) = open_reviews(DUE + timedelta(days=9), until=DUE)
    assert (row.patient, row.record_number, row.phone, row.email) == (
        "שרה כהן", patient.record_number, "07700 900123", "s@example.org",
    )  # fmt: skip
    assert (row.injector, row.treated_at.date()) == ("Ida Injector", date(2026, 11, 25))
    assert (row.days_due, row.kind, row.standing) == (9, "review", Standing.OVERDUE)


@pytest.fixture
def one_of_each(desk, injector, patient):
    """Reviews on both sides of every boundary, booked and not, as the list is asked on DUE."""
    for offset in (-40, -8, -7, -1, 0, 1, 7):
        make_review(injector, patient, DUE + timedelta(days=offset))
        booked = make_review(injector, patient, DUE + timedelta(days=offset))
        book(desk, injector, booked, f"{DUE + timedelta(days=10 + offset)} 10:00")
        past = make_review(injector, patient, DUE + timedelta(days=offset))
        book(desk, injector, past, f"{DUE - timedelta(days=60 + offset)} 10:00")
    lost = make_review(injector, patient, DUE)
    appointment = book(desk, injector, lost, f"{DUE} 15:00")
    set_state(appointment=appointment, state=AppointmentState.DID_NOT_ATTEND, actor=desk)


def test_filter_and_count_agree_with_the_standing_of_each_row(one_of_each):
    work = WorkList(DUE, DUE + timedelta(days=7))
    rows, counts = work[:], work.counts()
    for standing in Standing:
        expected = [row for row in rows if row.standing is standing]
        assert expected
        chosen = replace(work, standing=standing)
        assert (chosen[:], chosen.count(), counts[standing]) == (
            expected, len(expected), len(expected),
        )  # fmt: skip


def test_a_part_of_the_list_is_a_part_of_its_rows(one_of_each):
    work = WorkList(DUE, DUE)
    assert work[3:5] == work[:][3:5]
    assert len(work[3:5]) == 2


def test_the_rows_are_one_query_and_kept_statements_give_new_rows(
    injector, patient, django_assert_num_queries
):
    work = WorkList(DUE, DUE)
    for count in (1, 2):
        make_review(injector, patient, DUE)
        with django_assert_num_queries(1):
            assert len(work[:50]) == count


def test_a_patient_s_reviews_show_the_open_ones_first(desk, injector, patient, review):
    mark_done(review=make_review(injector, patient, DUE - timedelta(days=90)), actor=desk)
    make_review(injector, make_patient(desk, "Ben Example"), DUE)
    rows = patient_reviews(patient, on=DUE)
    assert [(row.review.due_on, row.label) for row in rows] == [
        (DUE, "Due"),
        (DUE - timedelta(days=90), "Done"),
    ]


@pytest.fixture
def many_closed_reviews(injector, patient, monkeypatch):
    """20,000 reviews, 40 of them open, with the statistics both databases plan by."""
    monkeypatch.setenv("BENCH_SCALE", "small")
    count = 20_000
    fill(
        Patient, count, id=f"n + {patient.pk}", record_number="'T' || CAST(n AS text)",
        full_name="'Ann Example'", birth_date=day("n % 9000"),
    )  # fmt: skip
    fill(
        TreatmentSession, count, id="n", key=uuid_of("n"), patient_id=f"n + {patient.pk}",
        injector_id=str(injector.pk), started_at=moment("n"), signed_at=moment("n"),
        signed_by_id=str(injector.pk),
    )  # fmt: skip
    fill(
        Appointment, count, id="n", patient_id=f"n + {patient.pk}", kind="'review'",
        practitioner_id=str(injector.pk),
        # On the hour: PostgreSQL reads the eighth of a second that `moment` adds.
        starts_at=sql(sqlite=moment("n * 3600"), postgresql="to_timestamp(1451898000 + n * 3600)"),
    )  # fmt: skip
    is_open = "n % 500 = 0"
    fill(
        Review, count, id="n", session_id="n", patient_id=f"n + {patient.pk}",
        due_on=day("n / 6"), earliest_on=day("n / 6"), latest_on=day("n / 6 + 7"), rule="'14 days'",
        appointment_id="n",
        closed_at=f"CASE WHEN {is_open} THEN NULL ELSE {moment('n')} END",
        closed_by_id=f"CASE WHEN {is_open} THEN NULL ELSE {injector.pk} END",
        outcome=f"CASE WHEN {is_open} THEN '' ELSE 'done' END",
    )  # fmt: skip
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


@pytest.mark.usefixtures("many_closed_reviews")
@pytest.mark.parametrize("what", ["list", "counts"])
def test_the_list_reads_the_index_of_open_reviews_and_no_table_as_a_whole(what):
    work = WorkList(DUE, DUE)
    with CaptureQueriesContext(connection) as asked:
        if what == "list":
            assert len(work[:50]) == 40
        else:
            assert sum(work.counts().values()) == 40
    (query,) = asked.captured_queries
    prefix = {"sqlite": "EXPLAIN QUERY PLAN", "postgresql": "EXPLAIN"}[connection.vendor]
    with connection.cursor() as cursor:
        cursor.execute(f"{prefix} {query['sql']}")
        plan = "\n".join(str(row[-1]) for row in cursor.fetchall())
    assert "review_open_by_due" in plan
    # SQLite: "SCAN table"; PostgreSQL: "Seq Scan on table". The few members of staff may be read.
    assert "SCAN records_" not in plan
    assert "Seq Scan on records_" not in plan
