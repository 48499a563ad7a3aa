"""The owner decides whether, when and in which words; what is wrong is named on its field."""

import pytest
from django.urls import reverse

from clinic.audit.models import AuditEvent
from planning.merging import check_body, check_subject, fill
from planning.text_messages import length_of
from records.reminders.enums import MessageKind, MessageRoute
from records.reminders.models import Message, MessageTemplate, ReminderPolicy
from records.reminders.wording import DEFAULTS, example_words, placeholders_for

POLICY = reverse("reminder-policy")
WORDS = reverse("message-template-edit", args=["confirmation", "sms"])
TYPED = {
    "is_on": "on", "confirms": "on", "reminds": "on", "hours_before": "36",
}  # fmt: skip


@pytest.fixture
def page(signed_in, owner, clock):
    return signed_in(owner)


def test_messages_are_off_until_the_owner_turns_them_on(page, policy):
    page.post(POLICY, TYPED)
    stored = ReminderPolicy.objects.get()
    assert (stored.is_on, stored.hours_before) == (True, 36)
    assert AuditEvent.objects.filter(action="reminder_policy.changed").count() == 1


def test_without_telephone_and_address_they_cannot_be_turned_on(page):
    answer = page.post(POLICY, TYPED)
    assert answer.status_code == 422
    assert "enter both under Policy first" in answer.content.decode()
    assert not ReminderPolicy.objects.exists()


@pytest.mark.parametrize("hours", ["0", "337", "soon", ""])
def test_hours_that_cannot_be_are_named(page, policy, hours):
    answer = page.post(POLICY, TYPED | {"hours_before": hours})
    assert answer.status_code == 422
    assert answer.context["form"].errors.keys() == {"hours_before"}


def test_own_words_are_sent_and_stay_with_what_was_sent(page, sending, book, texter, tick, outbox):
    page.post(WORDS, {"text": "Hello from {clinic}: {day}"})
    book(texter, "2026-12-10 10:30")
    tick()
    page.post(WORDS, {"text": "Other words"})
    said = "Hello from Larkstone Face Clinic: Thursday 10 December"
    assert outbox.texts == [said]
    assert Message.objects.get().text == said


@pytest.mark.parametrize(
    ("name", "typed", "field", "said"),
    [
        (WORDS, {"text": "{dya}"}, "text", "Did you mean {day}?"),
        (WORDS, {"text": ""}, "text", "Text is required."),
        (WORDS, {"text": "{"}, "text", "A brace stands alone. Write such as {clinic}, or none."),
        (WORDS, {"text": "On {day at {time}"}, "text", "A brace stands alone."),
        (
            reverse("message-template-edit", args=["review", "sms"]),
            {"text": "On {day}"}, "text", "{day} is not known",
        ),
        (
            reverse("message-template-edit", args=["reminder", "email"]),
            {"subject": "With {practitioner}", "text": "x"}, "subject", "{practitioner} tells",
        ),
        (
            reverse("message-template-edit", args=["reminder", "email"]),
            {"subject": "{link}", "text": "x"}, "subject", "{link} is not known",
        ),
    ],
)  # fmt: skip
def test_what_cannot_be_filled_is_named_and_kept(page, policy, name, typed, field, said):
    answer = page.post(name, typed)
    assert answer.status_code == 422
    assert said in answer.context["form"].errors[field][0]
    assert MessageTemplate.objects.count() == 0


def test_words_without_the_link_are_pointed_out_and_saved(page, policy):
    answer = page.post(WORDS, {"text": "We await you on {day}"}, follow=True)
    told = "answer by telephone alone"
    assert told in answer.content.decode()
    assert told in page.get(WORDS).content.decode()
    page.post(WORDS, {"text": "On {day}: {link}"})
    assert told not in page.get(WORDS).content.decode()


def test_back_to_the_words_that_come_with_the_program(page, policy):
    page.post(WORDS, {"text": "Own words"})
    page.post(reverse("message-template-drop", args=["confirmation", "sms"]))
    assert MessageTemplate.objects.count() == 0
    assert "Own words" not in page.get(WORDS).content.decode()


def test_the_preview_tells_how_long_a_text_message_is(page, policy):
    address = reverse("message-template-preview", args=["confirmation", "sms"])
    text = page.post(address, {"text": "a" * 161}).content.decode()
    assert "161 of 306" in text
    text = page.post(address, {"text": "Zoë"}).content.decode()
    assert "3 of 70" in text


@pytest.mark.parametrize(("kind", "route"), [("nothing", "sms"), ("reminder", "call")])
def test_words_of_no_kind_are_not_there(page, kind, route):
    assert page.get(reverse("message-template-edit", args=[kind, route])).status_code == 404


@pytest.mark.parametrize(("kind", "route"), DEFAULTS)
def test_the_words_that_come_with_the_program_can_be_filled_and_say_nothing_clinical(
    policy, kind, route
):
    words = DEFAULTS[kind, route]
    check_subject(words.subject, placeholders_for(kind))
    check_body(words.text, placeholders_for(kind))
    said = fill(f"{words.subject} {words.text}", example_words(kind, policy)).lower()
    for clinical in ("treat", "filler", "toxin", "inject", "review", "consult", "patient"):
        assert clinical not in said


def test_a_text_message_that_comes_with_the_program_is_one_message(policy, settings):
    for kind in MessageKind:
        # An offer leaves room for a longer name of the clinic's server.
        host = "record.larkstone-clinic.example" if kind == MessageKind.OFFER else "record.example"
        settings.PUBLIC_URL = f"https://{host}"
        text = DEFAULTS[kind, MessageRoute.SMS].text
        words = example_words(kind, policy) | {"day": "Wednesday 30 September"}
        assert length_of(fill(text, words)).parts == 1, kind
