"""Which reviews a signature and an adverse event schedule. Dates by hand, on open weekdays."""

import json
from datetime import date

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.policy.models import ClinicPolicy
from records.adverse_events.services import change_event
from records.reviews.models import Review, ReviewAsk, ReviewDate
from tests.factories import make_event, make_patient, make_review, make_rule
from tests.records.reviews.treatments import CHEEK, FILLER, LIP, TOXIN, sign, start, treat

pytestmark = pytest.mark.django_db
MONDAY = date(2026, 3, 2)


def dates(session) -> list[tuple[str, str, str]]:
    rows = session.reviews.order_by("due_on").values_list("earliest_on", "due_on", "latest_on")
    return [tuple(map(str, row)) for row in rows]


def test_without_a_rule_the_policy_s_general_one_asks(injector, patient):
    session = treat(injector, patient, MONDAY)
    assert dates(session) == [("2026-03-16", "2026-03-16", "2026-03-23")]
    review = session.reviews.get()
    assert review.rule == "14 days after the session (clinic policy)"
    assert review.asks.get().rule is None


def test_each_different_rule_asks_for_a_review_of_its_own(injector, patient):
    make_rule("Lips", group="lips", count=2, late_days=3)
    make_rule("Cheeks", group="midface", count=6)
    session = treat(injector, patient, MONDAY, (FILLER, CHEEK), (FILLER, LIP), (FILLER, LIP))
    assert dates(session) == [
        ("2026-03-16", "2026-03-16", "2026-03-19"),
        ("2026-04-13", "2026-04-13", "2026-04-20"),
    ]
    assert [review.rule for review in session.reviews.order_by("due_on")] == [
        "Lips: 2 weeks after the session (clinic policy)",
        "Cheeks: 6 weeks after the session (clinic policy)",
    ]


def test_reviews_of_one_session_that_one_day_suits_are_one_visit(injector, patient):
    lips = make_rule("Lips", group="lips", count=2, late_days=7)
    cheeks = make_rule("Cheeks", group="midface", count=3, early_days=7)
    session = treat(injector, patient, MONDAY, (FILLER, CHEEK), (FILLER, LIP))
    # Lips on the 16th until the 23rd; cheeks from the 16th: the 16th suits both.
    assert dates(session) == [("2026-03-16", "2026-03-16", "2026-03-23")]
    review = session.reviews.get()
    assert {ask.rule for ask in review.asks.all()} == {lips, cheeks}
    assert review.rule == (
        "Lips: 2 weeks after the session (clinic policy); "
        "Cheeks: 3 weeks after the session (clinic policy)"
    )


def test_a_visit_tells_all_its_rules_however_long_their_words(injector, patient):
    given = [(kind, place) for kind in (FILLER, TOXIN) for place in (CHEEK, LIP)]
    for kind in (FILLER, TOXIN):
        for group in ("midface", "lips"):
            label = f"{kind} {group} ".ljust(60, "x")
            make_rule(label, kind=kind, group=group, backing="published", source="Word " * 40)
    review = treat(injector, patient, MONDAY, *given).reviews.get()
    assert review.asks.count() == 4
    assert len(review.rule) > 1_000
    assert review.dates.get().reason == review.rule


def test_first_later_and_top_up_follow_from_the_patient_s_own_history(injector, patient):
    ClinicPolicy.objects.create(top_up_days=30)
    for event, weeks in (("first", 1), ("top_up", 2), ("later", 3)):
        make_rule(event, kind="ha_filler", event=event, count=weeks)
    ben = make_patient(injector, "Ben Example")
    treat(injector, ben, date(2026, 2, 20))
    days = [MONDAY, date(2026, 3, 30), date(2026, 4, 30)]
    # 28 days apart, then 31.
    sessions = [treat(injector, patient, day) for day in days]
    labels = [session.reviews.get().rule.partition(":")[0] for session in sessions]
    assert labels == ["first", "top_up", "later"]


def test_another_kind_of_product_is_a_first_treatment(injector, patient):
    make_rule("first", kind="", event="first", count=1)
    treat(injector, patient, MONDAY)
    session = treat(injector, patient, date(2026, 3, 9), (TOXIN, CHEEK))
    assert session.reviews.get().rule.startswith("first: 1 week")


def test_a_review_moves_from_a_holiday_and_says_from_which(injector, patient):
    ClinicPolicy.objects.create(holiday_country="GB", holiday_part="ENG")
    # 20 March + 14 days is Good Friday 2026; Monday the 6th is a holiday too.
    review = treat(injector, patient, date(2026, 3, 20)).reviews.get()
    assert (review.due_on, review.moved_from) == (date(2026, 4, 7), date(2026, 4, 3))
    assert "moved from Friday 3 April 2026, Good Friday" in review.rule


def test_the_first_row_of_the_dates_says_by_whom_and_why(injector, patient):
    review = treat(injector, patient, MONDAY).reviews.get()
    row = review.dates.get()
    assert (row.due_on, row.cause, row.reason, row.by) == (
        review.due_on, "scheduled", review.rule, injector,
    )  # fmt: skip
    event = AuditEvent.objects.get(action="review.scheduled")
    assert json.loads(event.data)["after"]["latest_on"] == "2026-03-23"


def test_a_session_with_nothing_given_asks_for_nothing(injector, patient):
    assert not sign(start(injector, patient, MONDAY, [])).reviews.exists()


# Adverse events


@pytest.fixture
def soon():
    return make_rule("Look soon", kind="", event="adverse_event", count=1, unit="week")


def test_an_adverse_event_of_a_session_schedules_the_review_its_rule_asks_for(
    injector, patient, soon
):
    session = treat(injector, patient, MONDAY)
    event = make_event(injector, patient, session=session, region="upper_lip")
    review = session.reviews.get(asks__event=event)
    assert review.asks.get().rule == soon
    assert review.rule.startswith("Look soon: 1 week after the report")
    assert (review.due_on - timezone.localdate()).days in range(7, 10)
    assert session.reviews.count() == 2


def test_the_front_desk_books_it_and_does_not_read_what_for(
    signed_in, desk, injector, patient, soon
):
    session = treat(injector, patient, MONDAY)
    event = make_event(injector, patient, session=session)
    review = session.reviews.get(asks__event=event)
    pages = {
        reverse(f"review-{name}", args=[review.pk]) for name in ("detail", "move", "book", "done")
    } | {reverse("review-for-patient", args=[patient.pk])}
    for page in pages:
        shown = signed_in(desk).get(page).content.decode().lower()
        assert "adverse event" not in shown, page
    shown = signed_in(injector).get(reverse("review-detail", args=[review.pk])).content.decode()
    assert (
        f'<a href="{reverse("adverse-event-detail", args=[event.pk])}">adverse event</a>' in shown
    )


def test_without_a_rule_or_a_session_an_adverse_event_schedules_nothing(injector, patient):
    session = treat(injector, patient, MONDAY)
    make_event(injector, patient, session=session)
    assert session.reviews.count() == 1
    make_rule("Look soon", kind="", event="adverse_event", count=1)
    make_event(injector, patient)
    assert Review.objects.count() == 1


def test_an_event_whose_session_is_known_later_gets_its_review_then_and_once(
    injector, patient, soon
):
    session = treat(injector, patient, MONDAY)
    event = make_event(injector, patient)
    event.session = session
    change_event(event=event, actor=injector, fields=["session"])
    event.signs = "Softer now."
    change_event(event=event, actor=injector, fields=["signs"])
    assert session.reviews.filter(asks__event=event).count() == 1


def test_a_rule_for_another_product_is_not_for_the_suspected_lot(injector, patient):
    make_rule("Toxin, look", kind="toxin", event="adverse_event", count=1)
    session = treat(injector, patient, MONDAY, (FILLER, CHEEK), (TOXIN, CHEEK))
    filler = session.points.get(unit__lot__product__kind="ha_filler").unit.lot
    make_event(injector, patient, session=session, lot=filler)
    assert not ReviewAsk.objects.exclude(event=None).exists()
    make_event(injector, patient, session=session)
    assert ReviewAsk.objects.exclude(event=None).count() == 1


# The database


@pytest.mark.parametrize("is_general", [True, False])
def test_a_rule_asks_a_session_once(injector, patient, is_general):
    rule = None if is_general else make_rule()
    review = make_review(injector, patient, MONDAY)
    if rule:
        ReviewAsk.objects.create(review=review, session=review.session, rule=rule)
    with pytest.raises(IntegrityError), transaction.atomic():
        ReviewAsk.objects.create(review=review, session=review.session, rule=rule)


def test_an_adverse_event_asks_once_and_by_a_rule(injector, patient, soon):
    session = treat(injector, patient, MONDAY)
    event = make_event(injector, patient, session=session)
    review = session.reviews.get(asks__event=event)
    with pytest.raises(IntegrityError), transaction.atomic():
        ReviewAsk.objects.create(review=review, session=session, rule=soon, event=event)
    with pytest.raises(IntegrityError, match="review_ask_event_by_a_rule"), transaction.atomic():
        ReviewAsk.objects.filter(event=event).update(rule=None)


def test_a_review_answers_no_other_session(injector, patient):
    review, other = (make_review(injector, patient, MONDAY) for _ in range(2))
    rule = make_rule()
    with pytest.raises(IntegrityError, match="its own session"), transaction.atomic():
        ReviewAsk.objects.create(review=review, session=other.session, rule=rule)
    with pytest.raises(IntegrityError, match="its own session"), transaction.atomic():
        ReviewAsk.objects.filter(review=review).update(review=other)


def test_the_due_day_lies_within_the_window(injector, patient):
    review = make_review(injector, patient, MONDAY)
    for fields in ({"earliest_on": date(2026, 3, 3)}, {"latest_on": date(2026, 3, 1)}):
        with pytest.raises(IntegrityError, match="review_due_within_window"), transaction.atomic():
            Review.objects.filter(pk=review.pk).update(**fields)


@pytest.mark.parametrize(
    ("fields", "constraint"),
    [
        ({"latest_on": date(2026, 3, 1)}, "review_date_within_window"),
        ({"cause": "dreamt"}, "review_date_cause_is_known"),
        ({"reason": ""}, "review_date_says_why"),
    ],
)
def test_the_database_refuses_dates_that_cannot_be(injector, patient, fields, constraint):
    review = make_review(injector, patient, MONDAY)
    row = {
        "review": review, "earliest_on": MONDAY, "due_on": MONDAY, "latest_on": MONDAY,
        "cause": "moved", "reason": "Away", "at": timezone.now(), **fields,
    }  # fmt: skip
    with pytest.raises(IntegrityError, match=constraint), transaction.atomic():
        ReviewDate.objects.create(**row)


def test_the_history_of_a_date_only_grows(injector, patient):
    rows = ReviewDate.objects.filter(review=make_review(injector, patient, MONDAY))
    for act in (lambda: rows.update(reason="Never mind"), lambda: rows._raw_delete(rows.db)):
        with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
            act()
    assert rows.get().reason == "14 days after the session (clinic policy)"
