"""The follow-up list and the page that turns to one patient, as people use them."""

from datetime import date, timedelta
from itertools import count

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from planning.follow_up import Standing, TryOutcome, Way
from records.appointments.models import Appointment
from records.follow_up.models import ContactAttempt
from records.follow_up.services import note_attempt
from records.recalls.models import CaseContact
from records.reviews.models import Review
from records.reviews.services.acts import excuse
from tests.factories import (
    make_appointment,
    make_event,
    make_occlusion,
    make_occlusion_line,
    make_patient,
    make_review,
    make_session,
    make_user,
)
from tests.records.follow_up.conftest import PHONE, TODAY, make_answer

pytestmark = pytest.mark.django_db
LIST = reverse("follow-up")


def shown(answer) -> list[tuple[str, int]]:
    return [(row.case.source, row.case.pk) for row in answer.context["rows"]]


def contact_url(review) -> str:
    return reverse("follow-up-review", args=[review.pk])


def main_of(answer) -> str:
    return answer.content.decode().split("<main", 1)[1].split("</main>")[0]


def test_complications_and_recalls_come_first(signed_in, desk, injector, patient, review, untold):
    event = make_event(injector, make_patient(desk, "Cleo Example"))
    soon, due = (make_review(injector, patient, TODAY + timedelta(days=days)) for days in (7, 0))
    make_review(injector, patient, TODAY + timedelta(days=8))
    answer = signed_in(desk).get(LIST)
    assert shown(answer) == [
        ("event", event.pk), ("recall", untold.pk), ("review", review.pk), ("review", due.pk),
        ("review", soon.pk),
    ]  # fmt: skip
    assert {standing.value: count for standing, count in answer.context["tabs"]} == {
        "first": 2, "overdue": 1, "due": 1, "unreachable": 0, "planned": 1, "booked": 0,
    }  # fmt: skip
    assert "1 day late" in answer.content.decode()


def test_a_running_occlusion_log_comes_before_every_adverse_event(
    signed_in, desk, injector, patient
):
    event = make_event(injector, make_patient(desk, "Cleo Example"), grade="5")
    log = make_occlusion(make_session(injector, patient))
    client = signed_in(injector)
    answer = client.get(LIST, {"injector": injector.pk})
    assert shown(answer) == [("occlusion", log.pk), ("event", event.pk)]
    assert reverse("occlusion-detail", args=[log.pk]) in main_of(answer)
    main = main_of(signed_in(desk).get(LIST)).lower()
    assert "ask the injector" in main
    assert "occlusion log" not in main
    make_occlusion_line(log, what="discarded")
    assert shown(client.get(LIST)) == [("event", event.pk)]


def test_a_time_that_is_only_offered_keeps_nobody_off_the_list(signed_in, desk, injector, patient):
    event = make_event(injector, patient)
    when = f"{TODAY + timedelta(days=3)} 10:00"
    visit = make_appointment(desk, patient, injector, when, kind="complication_check")
    assert shown(signed_in(desk).get(LIST)) == []
    Appointment.objects.filter(pk=visit.pk).update(state="offered", held_until=visit.starts_at)
    assert shown(signed_in(desk).get(LIST)) == [("event", event.pk)]


def test_the_front_desk_is_told_to_ask_the_injector_and_no_more(signed_in, desk, injector, patient):
    event = make_event(injector, patient, signs="A firm lump, not red.")
    for url in (LIST, reverse("follow-up-event", args=[event.pk])):
        main = main_of(signed_in(desk).get(url)).lower()
        assert "ask the injector" in main
        for word in ("adverse event", "complication<", "grade", "lump"):
            assert word not in main, (url, word)
    page = signed_in(injector).get(LIST).content.decode()
    assert "Adverse event, grade 1" in page
    assert reverse("adverse-event-detail", args=[event.pk]) in page


def test_the_list_is_filtered_by_injector_kind_and_standing(
    signed_in, desk, patient, review, untold
):
    other = make_user("lea", is_injector=True)
    theirs = make_review(other, patient, TODAY, kind="top_up")
    client = signed_in(desk)
    for asked, expected in (
        ({"injector": other.pk}, [theirs.pk]),
        ({"kind": "top_up"}, [theirs.pk]),
        ({"kind": "recall"}, [untold.pk]),
        ({"standing": "overdue"}, [review.pk]),
        ({"standing": "overdue", "injector": other.pk}, []),
    ):
        assert [pk for _, pk in shown(client.get(LIST, asked))] == expected, asked


@pytest.mark.parametrize(
    "asked", [{"standing": "late"}, {"injector": "x"}, {"kind": "9"}, {"page": "-3"}]
)
def test_a_filter_that_means_nothing_shows_all(signed_in, desk, review, asked):
    assert shown(signed_in(desk).get(LIST, asked)) == [("review", review.pk)]


def test_an_empty_list_says_so(signed_in, desk):
    assert "Nobody is waiting" in signed_in(desk).get(LIST).content.decode()


def test_the_list_goes_on_after_a_page_and_paper_holds_it_whole(signed_in, desk, injector, patient):
    for _ in range(21):
        make_review(injector, patient, TODAY)
    client = signed_in(desk)
    assert len(shown(client.get(LIST))) == 20
    assert len(shown(client.get(LIST, {"page": 2}))) == 1
    paper = client.get(LIST, {"paper": "on"})
    assert len(shown(paper)) == 21
    page = paper.content.decode()
    assert "data-print" in page
    assert contact_url(Review.objects.first()) not in page, "no buttons on paper"
    assert AuditEvent.objects.get(action="follow_up.printed").patient_id == patient.pk


def test_the_list_takes_as_many_queries_for_three_as_for_one(
    signed_in, desk, injector, review, untold, came_back, messages_on, django_assert_num_queries
):
    numbers = count(1)

    def one_more(name: str) -> None:
        patient = make_patient(desk, name, phone=PHONE)
        added = make_review(injector, patient, TODAY)
        note_attempt(about=added, way=Way.PHONE, outcome=TryOutcome.NO_ANSWER, actor=desk)
        number = next(numbers)
        came_back(f"{name} back", days=number)
        make_answer(
            make_appointment(desk, patient, injector, f"{TODAY + timedelta(days=number)} 15:00")
        )
        make_event(injector, make_patient(desk, f"{name} again"))

    client = signed_in(desk)
    one_more("Cleo Example")
    with CaptureQueriesContext(connection) as one:
        client.get(LIST)
    for name in ("Dan Example", "Eve Example"):
        one_more(name)
    with django_assert_num_queries(len(one)):
        assert len(shown(client.get(LIST))) == 14


def test_a_letter_patient_s_row_shows_the_address_and_no_number(signed_in, desk, injector):
    patient = make_patient(
        desk, "Lea Example", phone=PHONE, address="1 Quiet Lane", preferred_channel="letter"
    )
    make_review(injector, patient, TODAY)
    page = signed_in(desk).get(LIST).content.decode()
    assert ("1 Quiet Lane" in page, PHONE in page) == (True, False)


def test_a_row_says_where_its_date_differs_from_the_usual_rule(signed_in, desk, injector, review):
    moved = make_review(injector, review.patient, TODAY)
    old = make_review(injector, make_patient(desk, "Ben Example"), TODAY)
    Review.objects.filter(pk=moved.pk).update(moved_from=date(2026, 11, 28))
    Review.objects.filter(pk=old.pk).update(rule="3 weeks after the session (clinic policy)")
    page = signed_in(desk).get(LIST).content.decode()
    assert page.count("moved from Sat 28 Nov 2026") == 1
    assert page.count("3 weeks after the session (clinic policy)") == 1
    assert page.count("14 days after the session") == 1, "the usual rule is said once, above"


def test_contacts_and_names_are_shown_as_text(signed_in, desk, injector):
    patient = make_patient(desk, "<b>Bold</b>", phone='"><script>')
    review = make_review(injector, patient, TODAY)
    for url in (LIST, contact_url(review)):
        main = main_of(signed_in(desk).get(url))
        assert "&lt;b&gt;Bold&lt;/b&gt;" in main
        assert "<script>" not in main


def test_a_call_without_an_answer_is_noted_by_one_press(signed_in, desk, review):
    client, url = signed_in(desk), contact_url(review)
    page = client.get(f"{url}?next={LIST}%3Fpage%3D2").content.decode()
    assert 'href="tel:' in page
    answer = client.post(url, {"way": "phone", "outcome": "no_answer", "next": f"{LIST}?page=2"})
    assert answer.headers["Location"] == f"{LIST}?page=2"
    attempt = ContactAttempt.objects.get()
    assert (attempt.review, attempt.by, attempt.outcome, attempt.used) == (
        review, desk, "no_answer", PHONE,
    )  # fmt: skip
    page = client.get(LIST).content.decode()
    assert f"Noted for {review.patient.record_number}: no answer." in page


def test_whoever_is_reached_is_booked_at_once(signed_in, desk, review):
    said = {"way": "phone", "outcome": "reached", "next": LIST}
    answer = signed_in(desk).post(f"{contact_url(review)}?then=book", said)
    booking = reverse("review-book", args=[review.pk])
    assert answer.headers["Location"] == f"{booking}?next=%2Ffollow-up%2F"
    (row,) = signed_in(desk).get(LIST).context["rows"]
    assert row.step.value == "book"


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"way": "phone"}, "Press the button that says what came of it."),
        ({"way": "phone", "outcome": "later"}, "Say from when on"),
        ({"way": "letter", "outcome": "no_answer"}, "goes with a call"),
        ({"way": "phone", "outcome": "no_answer", "again_at": "2001-01-01T10:00"}, "lies ahead"),
        ({"way": "phone", "outcome": "no_answer", "again_at": "soon"}, "Type day and time"),
        ({"way": "phone", "outcome": "reached", "again_at": "2099-01-01T10:00"}, "leave it empty"),
        ({"way": "phone", "outcome": "no_answer", "again_at": "2099-01-01T10:00"}, "more than a"),
        ({"way": "pigeon", "outcome": "reached"}, "Not noted yet"),
    ],
)
def test_what_cannot_be_noted_is_said_and_what_was_typed_stays(
    signed_in, desk, review, said, words
):
    answer = signed_in(desk).post(contact_url(review), {"note": "Mornings", **said})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert words in page
    assert 'value="Mornings"' in page
    assert not ContactAttempt.objects.exists()


def test_a_closed_review_is_not_called_for(signed_in, desk, review):
    excuse(review=review, reason="Moved abroad", actor=desk)
    client, url = signed_in(desk), contact_url(review)
    assert "This review is closed" in client.get(url).content.decode()
    answer = client.post(url, {"way": "phone", "outcome": "no_answer"})
    assert answer.status_code == 422
    assert "This review was closed already: Excused." in answer.content.decode()


def test_the_front_desk_notes_a_call_of_a_recall_without_the_recall(signed_in, desk, untold):
    client, url = signed_in(desk), reverse("follow-up-recall", args=[untold.pk])
    case_page = reverse("recall-person", args=[untold.case_id, untold.pk])
    assert case_page not in client.get(url).content.decode()
    client.post(url, {"way": "phone", "outcome": "no_answer"})
    assert shown(client.get(LIST)) == [("recall", untold.pk)]
    client.post(url, {"way": "phone", "outcome": "informed", "note": "Will come in"})
    assert shown(client.get(LIST)) == []
    assert [contact.outcome for contact in CaseContact.objects.all()] == ["no_answer", "informed"]
    answer = client.post(url, {"way": "letter", "outcome": "no_answer"})
    assert answer.status_code == 422
    assert "does not go with" in answer.content.decode()


def test_nobody_is_called_about_a_drill(signed_in, owner, make_untold):
    rehearsed = make_untold(is_drill=True)
    url = reverse("follow-up-recall", args=[rehearsed.pk])
    assert signed_in(owner).get(url).status_code == 404
    assert shown(signed_in(owner).get(LIST)) == []


def test_the_progress_counts_what_was_settled_today(signed_in, desk, injector, patient, review):
    others = [make_review(injector, patient, TODAY) for _ in range(4)]
    visit = make_appointment(desk, patient, injector, f"{TODAY + timedelta(days=3)} 10:00")
    Review.objects.filter(pk=others[0].pk).update(appointment=visit, booked_at=timezone.now())
    before = make_appointment(desk, patient, injector, f"{TODAY + timedelta(days=4)} 10:00")
    Review.objects.filter(pk=others[1].pk).update(
        appointment=before, booked_at=timezone.now() - timedelta(days=1)
    )
    excuse(review=others[2], reason="Moved abroad", actor=desk)
    note_attempt(about=others[3], way=Way.PHONE, outcome=TryOutcome.REACHED, actor=desk)
    answer = signed_in(desk).get(LIST)
    progress = answer.context["progress"]
    assert (progress.settled, progress.left, progress.percent) == (3, 1, 75)
    assert "3 of 4</strong> settled today" in answer.content.decode()
    assert dict(answer.context["tabs"])[Standing.BOOKED] == 2
