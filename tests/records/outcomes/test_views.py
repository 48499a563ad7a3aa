"""The pages of review records: the injector's, the patient's own, the top-up's."""

import re
import uuid
from html import unescape

import pytest
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from planning.atlas.regions import Region
from planning.outcomes import Improvement, Rater, TopUp
from records.outcomes.models import OwnAnswers, ReviewDraft, ReviewRecord
from records.outcomes.services.handing import keep_answers
from records.reviews.services.acts import excuse
from tests.factories import (
    PASSWORD,
    make_event,
    make_patient,
    make_product,
    make_review,
    make_review_record,
    make_user,
    refreshed,
)

WORDS = {
    "seen": "Even on both sides.", "has_event": "no", "top_up": "none",
    "injector-temple": "2", "injector-mental": "3",
}  # fmt: skip


@pytest.fixture
def address(review):
    return reverse("outcome-create", args=[review.pk])


def words(**fields) -> dict:
    return {**WORDS, "seen_on": timezone.localdate().isoformat(), **fields}


def text_of(answer) -> str:
    return unescape(re.sub(r"\s+", " ", answer.content.decode()))


def test_a_review_is_written_up_and_shown(address, review, injector, signed_in):
    sent = words(**{"patient-temple": "1", "satisfaction": "9"})
    page = signed_in(injector).post(address, sent, follow=True)
    record = ReviewRecord.objects.get()
    assert page.redirect_chain[-1][0] == reverse("outcome-detail", args=[record.pk])
    assert (record.satisfaction, record.patient_answer) == (9, "asked")
    assert refreshed(review).outcome == "done"
    shown = text_of(page)
    for said in ["Even on both sides.", "2 much improved", "1 very much improved", "9</span> of 10",
                 "Asked, none", "read second-hand", "lower is better"]:  # fmt: skip
        assert said in shown


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"seen": ""}, "What was seen is required."),
        ({"has_event": ""}, "Anything that may be an adverse event? is required."),
        ({"injector-temple": ""}, "Temporal region (temple) is required."),
        ({"injector-temple": "6"}, "Select a valid choice."),
        ({"seen_on": "2999-01-01"}, "This day is still to come."),
        ({"seen_on": "2020-01-01"}, "a review of it was not before"),
        ({"satisfaction": "11"}, "Select a valid choice."),
    ],
)
def test_what_is_missing_is_said_and_nothing_typed_is_lost(
    address, injector, signed_in, fields, message
):
    page = signed_in(injector).post(address, words(**{"seen": "A small dent.", **fields}))
    assert page.status_code == 422
    assert message in text_of(page)
    assert ("A small dent." in text_of(page)) == ("seen" not in fields)
    assert not ReviewRecord.objects.exists()


def test_an_adverse_event_leads_to_its_form_with_the_session_filled_in(
    address, review, patient, injector, signed_in
):
    client = signed_in(injector)
    page = client.post(address, words(has_event="yes"), follow=True)
    assert page.context["form"].initial["session"] == review.session_id
    own = reverse("outcome-detail", args=[ReviewRecord.objects.get().pk])
    missing = "told here and not recorded yet"
    assert missing in text_of(client.get(own))
    make_event(injector, patient, session=review.session, onset_on=timezone.localdate())
    assert missing not in text_of(client.get(own))


def test_a_top_up_leads_to_the_points_of_last_time(address, patient, injector, signed_in):
    client = signed_in(injector)
    page = client.post(address, words(top_up="top_up"), follow=True)
    temple, chin = page.context["form"].rows
    # The chin was judged "improved", the temple better than that.
    assert (temple.chosen.value(), chin.chosen.value()) == (False, True)
    assert (chin.line.amount, chin.amount.value()) == (400, "0.4")
    address = page.redirect_chain[-1][0]
    too_much = client.post(address, {"take-1": "on", "amount-1": "0.5"})
    assert too_much.status_code == 422
    assert "Last time it was 0.4" in text_of(too_much)
    assert 'value="0.5"' in text_of(too_much)
    assert "at least one line" in text_of(client.post(address, {"amount-1": "0.2"}))
    client.post(address, {"take-1": "on", "amount-1": "0.15", "amount-0": "0.4"})
    [line] = patient.plans.get().stages.get().lines.all()
    assert (line.region, line.amount) == ("mental", 150)
    again = client.get(address)
    assert again.url == reverse("outcome-detail", args=[ReviewRecord.objects.get().pk])


def test_an_excused_review_is_not_written_up(address, review, desk, injector, signed_in):
    excuse(review=review, reason="Moved away", actor=desk)
    page = signed_in(injector).get(address, follow=True)
    assert "Open it again to write it up." in text_of(page)


def test_writing_it_again_asks_why(address, review, injector, signed_in):
    first = make_review_record(injector, review, seen_on=timezone.localdate())
    client = signed_in(injector)
    assert "Why it is written again is required." in text_of(client.post(address, words()))
    client.post(address, words(why_again="Sides mixed up"))
    page = text_of(client.get(reverse("outcome-detail", args=[first.pk])))
    assert "This record was written again" in page
    assert "Sides mixed up" in page


class TestThePatientAlone:
    @pytest.fixture
    def handed(self, review, injector, signed_in):
        """Where the tablet stands after it was handed over, and its client."""
        client = signed_in(injector)
        client.post(reverse("outcome-hand-over", args=[review.pk]))
        return client, reverse("outcome-answer", args=[review.pk])

    def test_the_tablet_shows_one_page_without_a_name_and_nothing_else(
        self, handed, patient, address, review
    ):
        client, place = handed
        page = client.get(place)
        shown = text_of(page)
        assert "Temple" in shown
        assert "Chin" in shown
        assert patient.full_name not in shown
        assert patient.record_number not in shown
        assert "<nav" not in shown
        assert client.get(address)["Location"] == place
        told = AuditEvent.objects.get(action="review.handed_over")
        assert (told.patient_id, told.subject_id) == (patient.pk, str(review.pk))

    def test_the_answers_go_into_the_record_as_they_are(self, handed, address, injector):
        client, place = handed
        sent = {"patient-temple": "4", "patient-mental": "", "satisfaction": "3"}
        thanks = client.post(place, sent, follow=True)
        assert "Please hand the tablet back." in text_of(thanks)
        assert client.get(place)["Location"] == reverse("tablet-take-back")
        assert AuditEvent.objects.get(action="review.answered_by_patient").actor == injector
        back = client.post(reverse("tablet-take-back"), {"password": PASSWORD}).context["back"]
        page = client.get(back)
        assert back.startswith(address)
        assert "4 no change" in text_of(page)
        assert "patient-temple" not in page.context["form"].fields
        client.post(back, words(**{"patient-temple": "1", "satisfaction": "10"}))
        record = ReviewRecord.objects.get()
        assert (record.satisfaction, record.patient_answer) == (3, "tablet")
        [by_patient] = record.ratings.filter(rater=Rater.PATIENT)
        assert (by_patient.region, by_patient.grade) == ("temple", 4)

    def test_nothing_answered_is_asked_once_more(self, handed):
        client, place = handed
        page = client.post(place, {})
        assert (page.status_code, "at least one question" in text_of(page)) == (422, True)
        assert "Select a valid choice" in text_of(client.post(place, {"satisfaction": "11"}))
        assert not OwnAnswers.objects.exists()

    def test_whoever_does_not_want_to_answer_hands_it_back(self, handed):
        client, place = handed
        assert f'href="{reverse("tablet-take-back")}"' in text_of(client.get(place))

    def test_the_page_opens_on_a_tablet_that_was_handed_over_alone(
        self, review, address, injector, signed_in
    ):
        place = reverse("outcome-answer", args=[review.pk])
        answer = signed_in(injector).post(place, {"satisfaction": "10"})
        assert answer["Location"] == address
        assert not OwnAnswers.objects.exists()

    def test_a_page_sent_twice_is_kept_once(self, review, injector):
        key = uuid.uuid4()
        for satisfaction in (8, 1):
            keep_answers(
                review=review, key=key, grades={}, satisfaction=satisfaction, actor=injector
            )
        assert OwnAnswers.objects.get().satisfaction == 8

    def test_a_page_of_another_review_is_refused(self, handed, desk, injector):
        client, place = handed
        key = uuid.uuid4()
        other = make_review(injector, make_patient(desk, "Bea"), timezone.localdate())
        keep_answers(review=other, key=key, grades={}, satisfaction=8, actor=injector)
        page = client.post(place, {"key": str(key), "satisfaction": "1"})
        assert (page.status_code, "of another visit" in text_of(page)) == (422, True)

    def test_the_tablet_of_an_excused_review_stays_with_the_staff(
        self, review, desk, injector, signed_in
    ):
        excuse(review=review, reason="Moved away", actor=desk)
        place = reverse("outcome-hand-over", args=[review.pk])
        page = signed_in(injector).post(place, words(), follow=True)
        assert "Open it again to write it up." in text_of(page)
        assert review.drafts.get().typed["seen"] == "Even on both sides."


class TestWhatWasTypedBeforeTheTabletWentToThePatient:
    @pytest.fixture
    def typed(self, review, injector, signed_in):
        """The injector's client after handing over a page that is half filled in, and back."""
        client = signed_in(injector)
        fields = {"seen": "A dent\0 at the\nleft temple", "injector-temple": "3",
                  "patient-temple": "2", "seen_on": "2026-11-3"}  # fmt: skip
        client.post(reverse("outcome-hand-over", args=[review.pk]), fields)
        client.post(reverse("tablet-take-back"), {"password": PASSWORD})
        return client

    def test_it_stands_on_the_page_again(self, typed, address):
        page = typed.get(address)
        form = page.context["form"]
        assert form["seen"].value() == "A dent at the\nleft temple"
        values = ("injector-temple", "patient-temple", "seen_on", "top_up")
        assert [form[name].value() for name in values] == ["3", "2", "2026-11-3", None]
        assert "stands here again" in text_of(page)
        told = AuditEvent.objects.get(action="review.handed_over")
        assert "dent" not in told.data

    def test_the_record_takes_its_place(self, typed, address):
        typed.post(address, words())
        assert not ReviewDraft.objects.exists()
        assert "stands here again" not in text_of(typed.get(address))

    def test_a_colleague_sees_nothing_of_it(self, typed, address, signed_in):
        page = signed_in(make_user("someone", is_injector=True)).get(address)
        assert not page.context["form"]["seen"].value()

    def test_handing_over_once_more_keeps_what_stands_there_then(self, typed, review):
        place = reverse("outcome-hand-over", args=[review.pk])
        typed.post(place, {"seen": "Two dents"})
        assert ReviewDraft.objects.get().typed == {"seen": "Two dents"}
        typed.post(reverse("tablet-take-back"), {"password": PASSWORD})
        typed.post(place, {"seen": "", "seen_on": timezone.localdate().isoformat()})
        assert not ReviewDraft.objects.exists()


def test_the_session_shows_how_it_turned_out(review, injector, owner, signed_in):
    session, client = review.session, signed_in(owner)
    panel = reverse("outcome-for-session", args=[session.pk])
    assert panel in text_of(client.get(reverse("session-detail", args=[session.pk])))
    shown = text_of(client.get(panel))
    assert "not written up yet" in shown
    assert reverse("review-detail", args=[review.pk]) in shown
    assert reverse("outcome-create", args=[review.pk]) not in shown
    for_injector = text_of(signed_in(injector).get(panel))
    assert reverse("outcome-create", args=[review.pk]) in for_injector
    make_review_record(
        injector, review, seen_on=timezone.localdate(),
        by_injector={Region.TEMPLE: Improvement.NO_CHANGE},
    )  # fmt: skip
    assert "4 no change" in text_of(client.get(panel))


def test_a_session_whose_review_is_excused_says_so(review, desk, injector, signed_in):
    excuse(review=review, reason="Moved away", actor=desk)
    panel = reverse("outcome-for-session", args=[review.session_id])
    shown = text_of(signed_in(injector).get(panel))
    assert "Excused" in shown
    assert reverse("outcome-create", args=[review.pk]) not in shown


def test_a_point_in_the_middle_of_a_paired_region_asks_for_its_side(
    treat, patient, injector, signed_in
):
    review = treat(patient, injector, make_product(), regions=("nasolabial",))
    client = signed_in(injector)
    page = client.post(
        reverse("outcome-create", args=[review.pk]),
        words(**{"injector-nasolabial": "4", "top_up": "top_up"}), follow=True,
    )  # fmt: skip
    address = page.redirect_chain[-1][0]
    [row] = page.context["form"].rows
    assert [value for value, _ in row.side.field.choices] == ["", "left", "right"]
    answer = client.post(address, {"take-0": "on", "amount-0": "0.2"})
    assert answer.status_code == 422
    assert "This region comes in pairs: choose left or right." in text_of(answer)
    client.post(address, {"take-0": "on", "amount-0": "0.2", "side-0": "right"})
    [line] = patient.plans.get().stages.get().lines.all()
    assert (line.region, line.side, line.amount) == ("nasolabial", "right", 200)


def test_results_stand_on_the_page_of_the_patient_and_of_the_review(
    review, patient, injector, owner, signed_in
):
    client = signed_in(owner)
    of_patient = reverse("outcome-for-patient", args=[patient.pk])
    of_review = reverse("outcome-for-review", args=[review.pk])
    assert "No review is written up yet." in text_of(client.get(of_patient))
    assert "Write up the review" not in text_of(client.get(of_review))
    make_review_record(
        injector, review, seen_on=timezone.localdate(), top_up=TopUp.WAIT,
        by_injector={Region.TEMPLE: Improvement.NO_CHANGE},
    )  # fmt: skip
    for place in (of_patient, of_review):
        assert "4 no change" in text_of(client.get(place))
    assert "Wait and look again" in text_of(client.get(of_patient))
    photographs = reverse("photograph-for-patient", args=[patient.pk])
    record = reverse("outcome-detail", args=[ReviewRecord.objects.get().pk])
    assert photographs in text_of(client.get(record))
    assert of_patient in text_of(client.get(reverse("patient-detail", args=[patient.pk])))
    timeline = client.get(reverse("timeline-for-patient", args=[patient.pk]))
    assert "Temporal region 4 no change" in text_of(timeline)


def test_a_treatment_without_points_is_written_up_in_words(injector, patient, signed_in):
    review = make_review(injector, patient, timezone.localdate())
    sent = words()
    page = signed_in(injector).post(reverse("outcome-create", args=[review.pk]), sent, follow=True)
    assert "No region was judged." in text_of(page)


def test_the_desk_neither_reads_nor_writes_results(address, desk, patient, signed_in):
    client = signed_in(desk)
    assert client.get(address).status_code == 403
    page = text_of(client.get(reverse("patient-detail", args=[patient.pk])))
    assert reverse("outcome-for-patient", args=[patient.pk]) not in page
