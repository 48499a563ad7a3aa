"""The browser drives a mailing; closing the page pauses it."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from clinic.audit.models import AuditEvent
from records.mailings.models import Mailing
from records.mailings.services import starting, steps
from tests.factories import make_mailing, make_patient, refreshed

pytestmark = pytest.mark.usefixtures("policy", "printed")
HTMX = {"HX-Request": "true"}


@pytest.fixture
def page(signed_in, owner):
    return signed_in(owner)


@pytest.fixture
def mailing(owner, people, monkeypatch):
    monkeypatch.setattr(starting, "LETTERS_IN_A_FILE", 2)
    return make_mailing(owner, people)


@pytest.fixture
def emails(owner, people, leaving):
    return make_mailing(owner, people, channel="email")


def at(name: str, thing) -> str:
    return reverse(name, kwargs={"pk": thing.pk})


def test_the_list_tells_how_each_mailing_stands(page, mailing, owner, people, emails):
    page.post(at("mailing-step", emails))
    item = mailing.items.first()
    item.state = "failed"
    item.save()
    text = page.get(reverse("mailing-list")).content.decode()
    assert text.count("Recall R000001") == 2
    assert "Finished" in text
    assert "Decide" in text


def test_an_empty_list_says_where_mailings_come_from(page):
    assert "No mailing yet" in page.get(reverse("mailing-list")).content.decode()


@pytest.mark.parametrize("count", [1, 3])
def test_the_list_asks_as_often_for_many_as_for_one(
    page, owner, people, count, django_assert_max_num_queries
):
    for _ in range(count):
        make_mailing(owner, people)
    with django_assert_max_num_queries(8):
        page.get(reverse("mailing-list"))


def test_the_page_stands_still_and_offers_to_begin(page, mailing):
    text = page.get(at("mailing-detail", mailing)).content.decode()
    assert "Write 3 letters" in text
    assert 'hx-trigger="load"' not in text.split('id="run"')[1].split("</section>")[0]
    assert mailing.items.filter(state="waiting").count() == 3
    assert AuditEvent.objects.filter(action="read", subject_type="mailing").count() == 1


def test_a_step_answers_with_the_bar_and_asks_for_the_next(page, mailing):
    answer = page.post(at("mailing-step", mailing), headers=HTMX)
    text = answer.content.decode()
    assert 'max="3" value="2"' in text
    assert f'hx-post="{at("mailing-step", mailing)}" hx-trigger="load"' in text
    assert "HX-Refresh" not in answer


def test_the_last_step_has_the_page_shown_anew(page, mailing):
    page.post(at("mailing-step", mailing), headers=HTMX)
    answer = page.post(at("mailing-step", mailing), headers=HTMX)
    assert answer["HX-Refresh"] == "true"
    assert "hx-trigger" not in answer.content.decode()


def test_a_page_that_was_closed_goes_on_where_it_was(page, mailing):
    page.post(at("mailing-step", mailing), headers=HTMX)
    text = page.get(at("mailing-detail", mailing)).content.decode()
    assert "Go on" in text
    assert "Letters, file 1" in text


def test_without_script_one_press_is_one_step(page, mailing):
    answer = page.post(at("mailing-step", mailing))
    assert answer.url == at("mailing-detail", mailing)
    assert mailing.batches.count() == 1


def test_a_mail_server_that_is_down_is_told_and_the_run_pauses(page, emails, monkeypatch):
    def refuse(self):
        raise ConnectionRefusedError("nobody listens")

    monkeypatch.setattr("django.core.mail.backends.locmem.EmailBackend.open", refuse)
    answer = page.post(at("mailing-step", emails), headers=HTMX)
    text = answer.content.decode()
    assert "It went no further" in text
    assert "nobody listens" in text
    assert 'hx-trigger="load"' not in text
    assert "Send 3 e-mails" in text
    assert "nobody listens" in page.post(at("mailing-step", emails), follow=True).content.decode()


def test_whom_to_look_at_with_the_reason(page, owner, people, desk):
    nowhere = make_patient(desk, "No Address")
    text = page.get(at("mailing-detail", make_mailing(owner, [*people, nowhere]))).content.decode()
    assert "Look at these" in text
    assert "No postal address is noted." in text
    assert text.count("No Address") >= 1


def test_a_failed_e_mail_can_be_tried_again(page, emails):
    item = emails.items.first()
    item.state, item.problem = "failed", "The mail server refused it: 550"
    item.save()
    text = page.get(at("mailing-detail", emails)).content.decode()
    assert "Try again" in text
    assert "It was sent" not in text
    answer = page.post(at("mailing-item-again", item))
    assert answer.url == at("mailing-detail", emails)
    assert refreshed(item).state == "waiting"


def test_all_that_failed_can_be_tried_again(page, emails):
    emails.items.filter(position__lt=3).update(state="failed", problem="No")
    text = page.get(at("mailing-detail", emails)).content.decode()
    assert "Try all that failed again" in text
    answer = page.post(at("mailing-again", emails), follow=True)
    assert "Waiting again: 2." in answer.content.decode()
    assert emails.items.filter(state="waiting").count() == 3


def test_an_unclear_e_mail_is_decided_on(page, emails):
    item = emails.items.first()
    item.state, item.at = "sending", timezone.now() - timedelta(hours=1)
    item.save()
    text = page.get(at("mailing-detail", emails)).content.decode()
    assert "nobody knows whether it left" in text
    assert "Send again" in text
    page.post(at("mailing-item-sent", item))
    assert refreshed(item).state == "sent"


@pytest.mark.parametrize("act", ["mailing-item-again", "mailing-item-sent"])
def test_nothing_to_decide_is_told(page, emails, act):
    answer = page.post(at(act, emails.items.first()), follow=True)
    assert "There is nothing to decide here any more: waiting." in answer.content.decode()


def test_a_drill_says_so(page, owner, people):
    mailing = make_mailing(owner, people, is_rehearsal=True)
    text = page.get(at("mailing-detail", mailing)).content.decode()
    assert "Drill: nobody is contacted" in text


def test_e_mails_that_do_not_leave_are_told_of_loudly(page, owner, people, settings):
    settings.EMAIL_LEAVES = False
    mailing = make_mailing(owner, people, channel="email")
    text = page.get(at("mailing-detail", mailing)).content.decode()
    assert "E-mails do not leave from here" in text


def test_the_page_leads_back_to_where_it_was_started(page, mailing, only_occasion):
    only_occasion(page=lambda mailing: "/a/case/")
    assert 'href="/a/case/"' in page.get(at("mailing-detail", mailing)).content.decode()


def test_a_step_of_e_mails_is_short(page, emails, monkeypatch):
    monkeypatch.setattr(steps, "STEP_SECONDS", 0)
    page.post(at("mailing-step", emails), headers=HTMX)
    assert emails.items.filter(state="sent").count() == 1


@pytest.mark.parametrize("name", ["mailing-detail", "mailing-step", "mailing-letters"])
def test_an_unknown_mailing_is_not_found(page, name):
    url = reverse(name, kwargs={"pk": 999_999})
    answer = page.post(url) if name == "mailing-step" else page.get(url)
    assert answer.status_code == 404


def test_a_step_is_not_taken_by_looking(page, mailing):
    assert page.get(at("mailing-step", mailing)).status_code == 405
    assert Mailing.objects.get().finished_at is None
