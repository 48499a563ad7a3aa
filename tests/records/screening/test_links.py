"""The patient's own link: nothing clinical in it, used once, until it ends."""

import logging
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from clinic.access.logs import WithoutMessages
from planning.screening import Given, Said
from records.patients.models import Alert
from records.reminders.models import Message, ReminderPolicy
from records.reminders.services.inviting import ask_by_link
from records.reminders.tokens import token_of
from records.screening.enums import Way
from records.screening.models import HistoryAnswer, HistoryLink
from records.screening.services.histories import begin_history
from records.screening.services.links import GOOD_FOR, MOST_TRIES, make_link
from tests.factories import make_patient, refreshed
from tests.records.screening.histories import make_history, typed

GONE = "This link cannot be used"


@pytest.fixture
def link(desk, patient):
    return make_link(patient=patient, actor=desk)


@pytest.fixture
def page(link):
    return reverse("screening-by-link", kwargs={"token": token_of(link.reference)})


def turn_on():
    ReminderPolicy.objects.update_or_create(pk=1, defaults={"is_on": True})


@pytest.fixture
def sending_patient(desk):
    """Ben Example, who agreed to e-mails, in a clinic that sends them."""
    turn_on()
    return make_patient(
        desk, "Ben Example", email="ann@mail.example", agrees_to_email=True,
        preferred_channel="email",
    )  # fmt: skip


@pytest.fixture
def anyone():
    """A telephone that keeps no cookies; the server checks forms as it does for everybody."""
    return Client(enforce_csrf_checks=True)


def test_the_page_asks_and_names_nobody(page, anyone, patient):
    text = anyone.get(page).content.decode()
    assert "Do you have an illness of nerves and muscles?" in text
    assert patient.full_name not in text
    assert patient.record_number not in page + text


def test_earlier_answers_do_not_stand_there(injector, patient, anyone):
    make_history(injector, patient, stings=Given(Said.YES, "Wasp, 2019"))
    link = make_link(patient=patient, actor=injector)
    page = reverse("screening-by-link", kwargs={"token": token_of(link.reference)})
    assert "Wasp, 2019" not in anyone.get(page).content.decode()


def test_opening_it_changes_nothing(link, page, anyone):
    anyone.get(page)
    anyone.head(page)
    assert refreshed(link).used_at is None
    assert HistoryAnswer.objects.count() == 0


def test_it_is_kept_nowhere_and_listed_nowhere(page, anyone):
    answer = anyone.get(page)
    assert (answer["Cache-Control"], answer["Referrer-Policy"], answer["X-Robots-Tag"]) == (
        "no-store", "no-referrer", "noindex, nofollow, noarchive",
    )  # fmt: skip
    assert answer.cookies == {}


def test_sent_once_it_thanks_and_asks_no_more(link, page, anyone, desk, patient):
    data = typed(link.form.questionnaire, pregnancy="yes")
    assert anyone.post(page, data)["Location"] == page
    assert "Your answers have reached us" in anyone.get(page).content.decode()
    assert "Your answers have reached us" in anyone.post(page, data).content.decode()
    alert = Alert.objects.get(patient=patient)
    assert (alert.level, alert.added_by) == ("stop", desk)


def test_what_is_missing_is_said_with_what_was_answered(link, page, anyone):
    data = typed(link.form.questionnaire, stings="yes") | {"detail-stings": "Bee"}
    del data["said-keloid"]
    answer = anyone.post(page, data)
    text = answer.content.decode()
    assert (answer.status_code, "Bee" in text, text.count("Please answer this one.")) == (
        200, True, 1,
    )  # fmt: skip


def test_too_many_tries_end_the_link(link, page, anyone):
    HistoryLink.objects.filter(pk=link.pk).update(tries=MOST_TRIES - 1)
    anyone.post(page, {})
    assert GONE in anyone.get(page).content.decode()


def test_it_ends_after_two_weeks(link, page, anyone):
    assert timedelta(days=14) == GOOD_FOR
    HistoryLink.objects.filter(pk=link.pk).update(expires_at=timezone.now())
    assert GONE in anyone.get(page).content.decode()


def test_another_form_ends_it(page, anyone, injector, patient):
    begin_history(patient=patient, way=Way.TABLET, actor=injector)
    assert GONE in anyone.get(page).content.decode()
    assert GONE in anyone.post(page, {}).content.decode()


@pytest.mark.parametrize("rest", ["", "wrong", "wrong/", "a/b/", "x" * 24 + "/"])
def test_a_wrong_link_is_told_so_by_the_clinic(db, anyone, rest):
    answer = anyone.get(f"/screening/by-link/{rest}")
    assert (answer.status_code, GONE in answer.content.decode()) == (200, True)


@pytest.mark.parametrize("added", [".", "/.", ")/"])
def test_a_link_with_a_sign_too_many_leads_to_its_page(page, anyone, added):
    assert anyone.get(page.rstrip("/") + added)["Location"] == page


def test_the_log_withholds_the_token(page):
    record = logging.LogRecord("django", 20, "", 0, f"GET {page}", None, None)
    assert WithoutMessages().format(record) == "GET /screening/by-link/(withheld)/"


def test_the_desk_gets_the_address_and_a_code(signed_in, desk, patient, page):
    client = signed_in(desk)
    made = client.post(reverse("screening-link-make", kwargs={"pk": patient.pk}))
    text = client.get(made["Location"]).content.decode()
    link = HistoryLink.objects.latest("pk")
    assert f"/screening/by-link/{token_of(link.reference)}/</textarea>" in text
    assert "<svg" in text


def test_a_link_that_was_used_is_not_shown_again(signed_in, desk, link, page, anyone):
    anyone.post(page, typed(link.form.questionnaire))
    show = reverse("screening-link", kwargs={"pk": link.pk})
    assert signed_in(desk).get(show).status_code == 404


def test_the_address_goes_by_the_message_the_patient_agreed_to(signed_in, desk, sending_patient):
    link = make_link(patient=sending_patient, actor=desk)
    client = signed_in(desk)
    send = reverse("screening-link-send", kwargs={"pk": link.pk})
    assert (
        "It goes by e-mail to ann@mail.example." in client.post(send, follow=True).content.decode()
    )
    message = Message.objects.get()
    assert (message.kind, message.token_digest) == ("questions", link.token_digest)
    assert "This link was sent already." in client.post(send, follow=True).content.decode()


def test_another_form_takes_the_message_back(desk, sending_patient):
    link = make_link(patient=sending_patient, actor=desk)
    ask_by_link(
        patient=sending_patient, reference=link.reference, until=link.expires_at, actor=desk
    )
    begin_history(patient=sending_patient, way=Way.TABLET, actor=desk)
    assert Message.objects.get().state == "withdrawn"


def test_whoever_did_not_agree_is_not_written_to(signed_in, desk, link):
    turn_on()
    send = reverse("screening-link-send", kwargs={"pk": link.pk})
    assert "No message can be sent" in signed_in(desk).post(send, follow=True).content.decode()
    assert not Message.objects.exists()
