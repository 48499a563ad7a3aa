"""Reckoning open reviews anew after the clinic changed its rules, closures or holidays."""

import io
import json
from datetime import date, timedelta

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.policy.models import ClinicPolicy, Closure
from clinic.review_rules.models import ReviewRule
from records.appointments.enums import AppointmentState
from records.appointments.models import Appointment, start_of
from records.appointments.services.states import set_state
from records.reviews.models import Review, ReviewAsk, ReviewDate
from records.reviews.queries.dates import reviews_off_their_history
from records.reviews.services.acts import book_review, excuse, mark_done
from records.reviews.services.moving import move_review
from records.reviews.services.recomputing import recompute
from records.sessions.models import TreatmentSession
from tests.conftest import deleting_allowed
from tests.factories import make_event, make_patient, make_review, make_rule, refreshed
from tests.records.reviews.treatments import CHEEK, FILLER, LIP, TOXIN, sign, start, treat

pytestmark = pytest.mark.django_db
MONDAY = date(2026, 3, 2)
PAGE = reverse("review-recompute")


def due(session: TreatmentSession) -> list[str]:
    return [str(day) for day in session.reviews.order_by("due_on").values_list("due_on", flat=True)]


def test_a_closure_moves_an_open_review_and_the_history_says_why(owner, injector, patient):
    session = treat(injector, patient, MONDAY)
    Closure.objects.create(
        starts_on=date(2026, 3, 16), ends_on=date(2026, 3, 17), reason="Painters"
    )
    (change,) = recompute(actor=owner)
    assert (str(change.review.due_on), str(change.visit.target)) == ("2026-03-16", "2026-03-18")
    review = session.reviews.get()
    assert (str(review.due_on), str(review.moved_from)) == ("2026-03-18", "2026-03-16")
    last = review.dates.last()
    assert (last.cause, last.by) == ("recomputed", owner)
    assert last.reason.endswith("moved from Monday 16 March 2026, Painters (clinic policy)")
    assert AuditEvent.objects.get(action="review.recomputed").patient_id == patient.pk
    assert recompute(actor=owner) == [], "a second time changes nothing"


def test_a_new_rule_takes_the_place_of_the_general_one(owner, injector, patient):
    session = treat(injector, patient, MONDAY)
    rule = make_rule("Cheeks", group="midface", count=4)
    recompute(actor=owner)
    assert due(session) == ["2026-03-30"]
    assert session.reviews.get().asks.get().rule == rule


def test_rules_that_no_longer_share_a_day_ask_for_a_further_review(owner, injector, patient):
    lips = make_rule("Lips", group="lips", count=2)
    cheeks = make_rule("Cheeks", group="midface", count=2)
    session = treat(injector, patient, MONDAY, (FILLER, CHEEK), (FILLER, LIP))
    assert due(session) == ["2026-03-16"]
    ReviewRule.objects.filter(pk=cheeks.pk).update(count=6)
    recompute(actor=owner)
    assert due(session) == ["2026-03-16", "2026-04-13"]
    assert [review.asks.get().rule for review in session.reviews.order_by("due_on")] == [
        lips, cheeks,
    ]  # fmt: skip


def test_a_rule_may_pass_from_one_review_of_a_session_to_another(owner, injector, patient):
    lips = make_rule("Lips", group="lips", count=2)
    session = treat(injector, patient, MONDAY, (FILLER, CHEEK), (FILLER, LIP))
    assert session.reviews.count() == 1, "the general rule's day is the same"
    ReviewRule.objects.filter(pk=lips.pk).update(count=8)
    recompute(actor=owner)
    ClinicPolicy.objects.create(review_count=12, review_unit="week")
    recompute(actor=owner)
    assert due(session) == ["2026-04-27", "2026-05-25"]
    assert [review.asks.get().rule for review in session.reviews.order_by("due_on")] == [
        lips, None,
    ]  # fmt: skip


def test_a_review_that_no_rule_asks_for_any_more_stays_on_the_list(owner, injector, patient):
    make_rule("Lips", group="lips", count=2)
    cheeks = make_rule("Cheeks", group="midface", count=8)
    session = treat(injector, patient, MONDAY, (FILLER, CHEEK), (FILLER, LIP))
    ReviewRule.objects.filter(pk=cheeks.pk).update(count=2)
    recompute(actor=owner)
    assert due(session) == ["2026-03-16", "2026-04-27"]
    left = session.reviews.get(due_on="2026-04-27")
    assert not left.asks.exists()
    assert left.dates.last().reason.startswith("No rule asks for it any more.")
    assert recompute(actor=owner) == []


@pytest.mark.parametrize("how", ["booked", "seen", "moved", "done", "excused"])
def test_what_is_booked_closed_or_moved_by_hand_stays(owner, desk, injector, patient, how):
    ClinicPolicy.objects.create(open_weekdays=[1, 2, 3, 4, 5, 6, 7])
    session = treat(injector, patient, timezone.localdate())
    review = session.reviews.get()
    if how in {"booked", "seen"}:
        appointment = Appointment(
            practitioner=injector, kind="review",
            starts_at=start_of(review.due_on) + timedelta(hours=10),
        )  # fmt: skip
        book_review(review=review, appointment=appointment, actor=desk)
        if how == "seen":
            set_state(appointment=appointment, state=AppointmentState.DONE, actor=desk)
    elif how == "moved":
        day = review.due_on + timedelta(days=2)
        move_review(review=review, due_on=day, reason="Away", actor=desk)
    elif how == "done":
        mark_done(review=review, actor=desk)
    else:
        excuse(review=review, reason="Moved abroad", actor=desk)
    before = refreshed(review).due_on
    ClinicPolicy.objects.update(review_count=20)
    assert recompute(actor=owner) == []
    assert refreshed(review).due_on == before


def test_beside_a_closed_review_the_others_keep_what_they_answer(owner, injector, patient):
    lips = make_rule("Lips", group="lips", count=2)
    cheeks = make_rule("Cheeks", group="midface", count=8)
    session = treat(injector, patient, MONDAY, (FILLER, CHEEK), (FILLER, LIP))
    mark_done(review=session.reviews.get(asks__rule=lips), actor=injector)
    ReviewRule.objects.filter(pk=cheeks.pk).update(count=9)
    make_rule("Lips at first", group="lips", event="first", count=20)
    recompute(actor=owner)
    assert due(session) == ["2026-03-16", "2026-05-04"]
    assert session.reviews.get(due_on="2026-05-04").asks.get().rule == cheeks


def test_what_it_answers_and_cannot_any_more_at_one_visit_becomes_a_further_one(
    owner, injector, patient
):
    lips = make_rule("Lips", group="lips", count=8)
    toxin = make_rule("Toxin", kind="toxin", count=2)
    cheeks = make_rule("Cheeks", group="midface", count=2)
    given = [(FILLER, CHEEK), (FILLER, LIP), (TOXIN, CHEEK)]
    session = treat(injector, patient, MONDAY, *given)
    mark_done(review=session.reviews.get(asks__rule=lips), actor=injector)
    ReviewRule.objects.filter(pk=cheeks.pk).update(count=6)
    assert len(recompute(actor=owner, dry_run=True)) == 2
    recompute(actor=owner)
    assert [str(review.due_on) for review in session.reviews.still_open()] == [
        "2026-03-16",
        "2026-04-13",
    ]
    assert [review.asks.get().rule for review in session.reviews.still_open()] == [toxin, cheeks]
    assert recompute(actor=owner) == []


def test_a_session_gets_its_own_reviews_with_its_signature_and_not_before(owner, injector, patient):
    make_rule("Look soon", kind="", event="adverse_event", count=1, unit="day")
    session = start(injector, patient, timezone.localdate(), [(FILLER, CHEEK)])
    event = make_event(injector, patient, session=session)
    recompute(actor=owner)
    assert session.reviews.get().asks.get().event == event
    sign(session)
    assert session.reviews.count() == 2


def test_the_review_of_an_adverse_event_follows_its_own_rule(owner, injector, patient):
    ClinicPolicy.objects.create(open_weekdays=[1, 2, 3, 4, 5, 6, 7])
    soon = make_rule("Look soon", kind="", event="adverse_event", count=1, unit="day")
    session = treat(injector, patient, MONDAY)
    event = make_event(injector, patient, session=session)
    ReviewRule.objects.filter(pk=soon.pk).update(count=4)
    (change,) = recompute(actor=owner)
    review = session.reviews.get(asks__event=event)
    assert change.review == review
    assert review.due_on == timezone.localdate() + timedelta(days=4)
    assert "after the report" in review.rule


def test_a_dry_run_says_it_and_changes_nothing(owner, injector, patient):
    session = treat(injector, patient, MONDAY)
    ClinicPolicy.objects.create(review_count=21)
    (change,) = recompute(actor=owner, dry_run=True)
    assert str(change.visit.target) == "2026-03-23"
    assert due(session) == ["2026-03-16"]
    assert ReviewDate.objects.count() == 1


def test_the_owner_sees_what_would_change_before_it_does(signed_in, owner, injector, patient):
    client = signed_in(owner)
    assert "Nothing would change" in client.get(PAGE).content.decode()
    session = treat(injector, patient, MONDAY)
    ClinicPolicy.objects.create(review_count=21)
    page = client.get(PAGE).content.decode()
    assert "Change 1 review" in page
    assert "Mon 23 Mar 2026" in page
    assert due(session) == ["2026-03-16"]
    answer = client.post(PAGE, follow=True)
    assert "Reviews changed: 1." in answer.content.decode()
    assert due(session) == ["2026-03-23"]


def test_the_preview_shows_the_whole_window_and_whose_it_is(signed_in, owner, injector, patient):
    treat(injector, patient, MONDAY)
    make_rule("Cheeks", group="midface", count=4, early_days=5, late_days=9)
    page = signed_in(owner).get(PAGE).content.decode()
    assert patient.full_name in page
    assert patient.record_number in page
    assert "25 Mar to 8 Apr 2026" in page  # by hand: 30 March less 5, and 9 days more


def test_a_review_that_keeps_its_days_is_not_counted(signed_in, owner, injector, patient):
    session = treat(injector, patient, MONDAY)
    rule = make_rule("Cheeks", group="midface", count=2)
    client = signed_in(owner)
    page = client.get(PAGE).content.decode()
    assert "1 review keeps every day and only names the rules of now" in page
    assert "Change 1 review" not in page
    answer = client.post(PAGE, follow=True).content.decode()
    assert "Reviews changed: 0." in answer
    assert "Nothing would change" in answer
    assert session.reviews.get().asks.get().rule == rule


def test_a_clinic_that_never_opens_is_reported(signed_in, owner, injector, patient):
    treat(injector, patient, MONDAY)
    Closure.objects.create(
        starts_on=date(2026, 3, 1), ends_on=date(2028, 3, 1), reason="Closed for good"
    )
    client = signed_in(owner)
    assert "No open day within 366 days" in client.get(PAGE).content.decode()
    assert "No open day" in client.post(PAGE, follow=True).content.decode()
    with pytest.raises(CommandError, match="No open day"):
        call_command("reviews_recompute", stdout=io.StringIO())


def command(name: str, *arguments: str) -> str:
    out = io.StringIO()
    call_command(name, *arguments, stdout=out)
    return out.getvalue()


def test_the_command_does_the_same(injector, patient):
    session = treat(injector, patient, MONDAY)
    ClinicPolicy.objects.create(review_count=21)
    answer = json.loads(command("reviews_recompute", "--dry-run", "--format", "json"))
    assert answer == {
        "dry_run": True,
        "changes": [
            {
                "record_number": patient.record_number, "from": "2026-03-16",
                "earliest": "2026-03-23", "to": "2026-03-23", "latest": "2026-03-30",
                "rule": "21 days after the session (clinic policy)",
            }
        ],
    }  # fmt: skip
    assert due(session) == ["2026-03-16"]
    assert command("reviews_recompute").splitlines() == [
        f"{patient.record_number}  2026-03-16 -> 2026-03-23  "
        "21 days after the session (clinic policy)",
        "1 reviews changed",
    ]
    assert session.reviews.get().dates.last().by is None


def test_verify_reviews_names_a_session_without_its_review(injector, patient):
    treat(injector, patient, MONDAY)
    assert command("verify_reviews") == (
        "no signed session lacks its review, 1 reviews agree with their history\n"
    )
    ben = make_patient(injector, "Ben Example")
    lost = treat(injector, ben, MONDAY)
    _erase(lost)
    words = f"session {lost.pk} of 2026-03-02, patient {ben.record_number}: no review"
    with pytest.raises(CommandError, match=words):
        command("verify_reviews")


def test_the_review_of_an_adverse_event_stands_for_no_other(injector, patient):
    lost = treat(injector, patient, MONDAY)
    _erase(lost)
    make_rule("Look soon", kind="", event="adverse_event", count=1, unit="day")
    make_event(injector, patient, session=lost)
    with pytest.raises(CommandError, match=f"session {lost.pk} of 2026-03-02"):
        command("verify_reviews")


def _erase(session: TreatmentSession) -> None:
    """As if it had never been scheduled: past the rules of the database."""
    kept = {row._meta.db_table for row in (ReviewDate, ReviewAsk, Review)}
    with deleting_allowed(connection, kept):
        ReviewDate.objects.filter(review__session=session).delete()
        session.review_asks.all().delete()
        session.reviews.all().delete()


def test_verify_reviews_names_a_review_whose_dates_are_not_its_history_s(injector, patient):
    review = make_review(injector, patient, MONDAY)
    assert not reviews_off_their_history()
    Review.objects.filter(pk=review.pk).update(latest_on=date(2026, 4, 1))
    with pytest.raises(CommandError, match=f"review {review.pk}: its dates"):
        command("verify_reviews")
