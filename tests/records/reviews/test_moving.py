"""Moving a review by hand, and with an addendum."""

import json
from datetime import timedelta
from urllib.parse import quote

import pytest
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.policy.models import ClinicPolicy, Closure
from records.reviews.errors import DayRefused, ReasonMissing, ReviewBooked, ReviewClosed
from records.reviews.models import Review
from records.reviews.services.acts import excuse, mark_done
from records.reviews.services.moving import move_review
from records.sessions.models import Addendum
from tests.factories import make_appointment, make_review, refreshed

pytestmark = pytest.mark.django_db
TODAY = timezone.localdate()
DUE = TODAY + timedelta(days=10)
LATER = DUE + timedelta(days=20)


@pytest.fixture(autouse=True)
def open_every_day(db):
    ClinicPolicy.objects.create(open_weekdays=[1, 2, 3, 4, 5, 6, 7])


@pytest.fixture
def review(injector, patient):
    return make_review(injector, patient, DUE)


def url_of(review: Review) -> str:
    return reverse("review-move", args=[review.pk])


def test_the_front_desk_moves_a_review_and_the_history_says_why(signed_in, desk, review):
    client = signed_in(desk)
    typed = {"due_on": LATER.isoformat(), "reason": "Away until then"}
    answer = client.post(url_of(review), typed, follow=True)
    review = refreshed(review)
    assert (review.due_on, review.moved_from) == (LATER, DUE)
    assert (review.earliest_on, review.latest_on) == (DUE, LATER), "the window stretches"
    assert [(row.due_on, row.cause, row.by) for row in review.dates.all()] == [
        (DUE, "scheduled", review.session.injector), (LATER, "moved", desk),
    ]  # fmt: skip
    page = answer.content.decode()
    assert "Away until then" in page
    assert "Moved by hand" in page
    event = AuditEvent.objects.get(action="review.moved")
    assert (event.patient_id, json.loads(event.data)["reason"]) == (
        review.patient_id, "Away until then",
    )  # fmt: skip


def test_a_day_within_the_window_leaves_the_window(desk, review):
    day = DUE + timedelta(days=3)
    move_review(review=review, due_on=day, reason="A better day", actor=desk)
    review = refreshed(review)
    assert (review.earliest_on, review.due_on, review.latest_on) == (
        DUE, day, DUE + timedelta(days=7),
    )  # fmt: skip


def test_the_page_says_which_days_are_the_rule_s_and_which_a_person_s(signed_in, desk, review):
    client = signed_in(desk)
    assert "by its rule (" in client.get(url_of(review)).content.decode()
    day = DUE + timedelta(days=3)
    move_review(review=review, due_on=day, reason="A better day", actor=desk)
    page = client.get(url_of(review)).content.decode()
    assert "since it was moved by hand" not in page, "the window is still the rule's"
    move_review(review=review, due_on=LATER, reason="Away until then", actor=desk)
    page = client.get(url_of(review)).content.decode()
    end = DUE + timedelta(days=7)
    assert f"{LATER:%-d %B %Y}</span>, since it was moved by hand." in page
    assert f"{end:%-d %B %Y}</span>. A day outside of what the rule gives" in page


@pytest.mark.parametrize(
    ("day", "words"),
    [
        (TODAY - timedelta(days=1), "has passed. Choose today or a later day."),
        (DUE, "already. Choose another day."),
        (TODAY.replace(year=TODAY.year + 6, day=1), "Check the year."),
        (LATER, "(Staff training). Choose an open day."),
    ],
)
def test_a_day_that_cannot_be_is_explained_and_what_was_typed_stays(
    signed_in, desk, review, day, words
):
    Closure.objects.create(starts_on=LATER, ends_on=LATER, reason="Staff training")
    typed = {"due_on": day.isoformat(), "reason": "Away until then"}
    answer = signed_in(desk).post(url_of(review), typed)
    assert answer.status_code == 422
    assert words in " ".join(answer.context["form"].errors["due_on"])
    assert 'value="Away until then"' in answer.content.decode()
    assert refreshed(review).due_on == DUE


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"due_on": "", "reason": "Away"}, "due_on"),
        ({"due_on": "soon", "reason": "Away"}, "due_on"),
        ({"due_on": LATER.isoformat(), "reason": " "}, "reason"),
    ],
)
def test_a_day_and_a_reason_are_needed(signed_in, desk, review, typed, field):
    answer = signed_in(desk).post(url_of(review), typed)
    assert list(answer.context["form"].errors) == [field]
    assert refreshed(review).due_on == DUE


def test_what_is_booked_or_closed_is_not_moved(desk, injector, review):
    act = {"due_on": LATER, "reason": "Away", "actor": desk}
    review.appointment = make_appointment(desk, review.patient, injector, f"{DUE} 10:00")
    review.save(update_fields=["appointment"])
    with pytest.raises(ReviewBooked):
        move_review(review=review, **act)
    Review.objects.update(appointment=None)
    mark_done(review=review, actor=desk)
    with pytest.raises(ReviewClosed):
        move_review(review=review, **act)
    assert refreshed(review).dates.count() == 1


def test_the_service_asks_for_a_reason_and_an_open_day_too(desk, review):
    with pytest.raises(ReasonMissing):
        move_review(review=review, due_on=LATER, reason=" ", actor=desk)
    with pytest.raises(DayRefused):
        move_review(review=review, due_on=TODAY - timedelta(days=1), reason="Away", actor=desk)


def test_a_day_on_which_the_clinic_never_opens_needs_no_other_reason(desk, review):
    ClinicPolicy.objects.update(open_weekdays=[1, 2, 3, 4, 5])
    sunday = DUE + timedelta(days=6 - DUE.weekday() or 7)
    with pytest.raises(DayRefused, match=rf"closed on Sunday [^(]* {sunday.year}\. Choose"):
        move_review(review=review, due_on=sunday, reason="Away", actor=desk)


def test_a_closed_review_s_page_offers_no_move(signed_in, desk, review):
    client, page = signed_in(desk), reverse("review-detail", args=[review.pk])
    assert url_of(review) in client.get(page).content.decode()
    mark_done(review=review, actor=desk)
    assert url_of(review) not in client.get(page).content.decode()


def test_a_closed_review_s_page_says_how_it_ended_and_opens_it_again(signed_in, desk, review):
    excuse(review=review, reason="Moved abroad", actor=desk)
    page = reverse("review-detail", args=[review.pk])
    text = signed_in(desk).get(page).content.decode().split("<main", 1)[1]
    for words in ("Excused", "Moved abroad", desk.full_name, "Not excused after all"):
        assert words in text
    assert f"{reverse('review-reopen', args=[review.pk])}?next={quote(page, safe='')}" in text


@pytest.mark.parametrize("route", ["review-move", "review-book", "review-done", "review-excuse"])
def test_what_needs_an_open_review_says_at_once_that_it_is_closed(signed_in, desk, review, route):
    excuse(review=review, reason="Moved abroad", actor=desk)
    answer = signed_in(desk).get(reverse(route, args=[review.pk]))
    text = answer.content.decode().split("<main", 1)[1].split("</main>")[0]
    assert answer.status_code == 200
    assert "This review is closed" in text
    assert "Not excused after all" in text
    assert "<form" not in text


@pytest.mark.parametrize("route", ["review-detail", "review-move"])
def test_an_unknown_number_is_not_found(signed_in, desk, route):
    assert signed_in(desk).get(reverse(route, args=[99999])).status_code == 404


def test_reading_a_review_s_page_is_noted(signed_in, desk, review):
    signed_in(desk).get(reverse("review-detail", args=[review.pk]))
    event = AuditEvent.objects.get(action="read", subject_type="review")
    assert (event.actor, event.patient_id) == (desk, review.patient_id)


# With an addendum


def added(review: Review, **typed) -> dict:
    return {
        "point": "", "reason": "Wrong product noted", "text": "It was the firm one.",
        f"review_{review.pk}": LATER.isoformat(), **typed,
    }  # fmt: skip


def test_an_addendum_moves_the_review_of_its_session(signed_in, injector, review):
    url = reverse("addendum-add", args=[review.session_id])
    client = signed_in(injector)
    assert f'name="review_{review.pk}"' in client.get(url).content.decode()
    for _ in range(2):  # the answer was lost, and the form is sent again
        assert client.post(url, added(review)).status_code == 302
    assert Addendum.objects.count() == 1
    review = refreshed(review)
    assert (review.due_on, review.dates.count()) == (LATER, 2)
    last = review.dates.last()
    assert (last.cause, last.reason) == ("amended", "Addendum: Wrong product noted")


def test_an_addendum_without_a_day_keeps_the_review(signed_in, injector, review):
    url = reverse("addendum-add", args=[review.session_id])
    signed_in(injector).post(url, added(review, **{f"review_{review.pk}": ""}))
    assert Addendum.objects.count() == 1
    assert refreshed(review).due_on == DUE


def test_an_addendum_with_a_day_that_cannot_be_is_not_written(signed_in, injector, review):
    url = reverse("addendum-add", args=[review.session_id])
    passed = {f"review_{review.pk}": (TODAY - timedelta(days=1)).isoformat()}
    answer = signed_in(injector).post(url, added(review, **passed))
    assert "has passed" in " ".join(answer.context["form"].errors[f"review_{review.pk}"])
    assert not Addendum.objects.exists()


def test_the_front_desk_does_not_read_why_a_session_was_added_to(signed_in, desk, injector, review):
    url = reverse("addendum-add", args=[review.session_id])
    signed_in(injector).post(url, added(review))
    page = reverse("review-detail", args=[review.pk])
    assert "Wrong product noted" in signed_in(injector).get(page).content.decode()
    text = signed_in(desk).get(page).content.decode()
    assert "Moved with an addendum" in text
    assert "Wrong product noted" not in text
