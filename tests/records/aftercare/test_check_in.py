"""The question of the day after: asked once, answered by a link, and a worry comes first."""

from datetime import UTC, datetime, timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from clinic.policy.queries import current_policy
from planning.follow_up import Kind
from records.aftercare.enums import Feeling
from records.aftercare.errors import AftercareError, SettledAlready
from records.aftercare.models import MOST_ANSWERS, CheckIn, CheckInAnswer
from records.aftercare.services.checking_in import (
    answer_check_in,
    ask_due,
    asked_at,
    settle_worry,
)
from records.follow_up.queries.work_list import follow_up
from records.reminders.models import Message
from records.reminders.services.sending import claim
from records.reminders.tokens import token_of
from tests.factories import make_event, make_patient, make_review, refreshed

CALL = "Call the emergency services now</p>"


@pytest.fixture
def page(check_in):
    return reverse("aftercare-check-in", kwargs={"token": token_of(check_in.message.reference)})


@pytest.fixture
def anyone():
    return Client(enforce_csrf_checks=True)


def say(client, page, **fields):
    """What the patient reads after answering."""
    return client.post(page, {"feeling": "worried", **fields}, follow=True).content.decode()


def test_each_session_is_asked_about_once_the_next_morning(session, sending, clock):
    ask_due()
    ask_due()
    message = Message.objects.get()
    assert (message.kind, message.patient_id) == ("check_in", session.patient_id)
    assert message.due_at == datetime(2026, 12, 2, 10, tzinfo=UTC)
    assert CheckIn.objects.get().session == session


@pytest.mark.parametrize(("is_on", "checks_in"), [(False, True), (True, False)])
def test_nobody_is_asked_until_the_owner_turns_it_on(session, sending, is_on, checks_in):
    sending.is_on, sending.checks_in = is_on, checks_in
    sending.save()
    ask_due()
    assert not Message.objects.exists()


def test_what_is_signed_days_later_is_not_asked_about(session, sending, clock):
    clock.shift(timedelta(days=3))
    ask_due()
    assert not Message.objects.exists()


def test_whoever_is_not_written_to_is_called(session, sending, ann, clock):
    ann.agrees_to_sms = False
    ann.save()
    ask_due()
    clock.shift(timedelta(hours=23))
    assert claim(current_policy()) is None
    assert Message.objects.get().state == "to_call"


def test_quiet_hours_hold_for_the_question_too(policy):
    policy.quiet_until = policy.quiet_until.replace(hour=11)
    evening = datetime(2026, 12, 1, 21, tzinfo=UTC)
    assert asked_at(evening, policy.quiet) == datetime(2026, 12, 2, 11, tzinfo=UTC)


def test_all_is_well(page, anyone, check_in):
    answer = anyone.get(page)
    assert (answer["Cache-Control"], answer.cookies) == ("no-store", {})
    assert "you see less, blurred or double" in answer.content.decode()
    assert not CheckInAnswer.objects.exists()
    assert "good to hear" in say(anyone, page, feeling="well")
    assert CheckInAnswer.objects.get().haste == 0
    assert not [row for row in listed() if row.case.kind is Kind.WORRY]


def listed(injector_id=None):
    return follow_up(current_policy(), clinical=True, injector_id=injector_id)[:20]


@pytest.mark.parametrize(
    "fields",
    [{"signs": ["vision"]}, {"signs": ["lump", "nerves"]}, {"note": "I see double since noon"},
     {"feeling": "well", "note": "fine, only my vision is blurred"}],
)  # fmt: skip
def test_signs_of_an_emergency_say_at_once_whom_to_call(page, anyone, fields):
    shown = say(anyone, page, **fields)
    assert CALL in shown
    assert 'href="tel:07700900999"' in shown
    assert CheckInAnswer.objects.get().is_emergency


def test_signs_of_a_blocked_vessel_say_to_call_the_clinic_now(page, anyone):
    shown = say(anyone, page, signs=["pale"])
    assert "Call us now" in shown
    assert CALL not in shown


def test_a_worry_stands_first_whatever_else_there_is(page, anyone, ann, desk, injector):
    make_event(injector, ann, grade="4", onset_on=datetime(2026, 11, 30, tzinfo=UTC).date())
    say(anyone, page, signs=["lump"], note="small")
    say(anyone, page, signs=["vision"])
    rows = listed()
    assert [row.case.kind for row in rows] == [Kind.WORRY, Kind.COMPLICATION]
    assert rows[0].case.weight == 3
    assert rows[0].contact == ann.phone
    assert listed(injector_id=injector.pk)[0].case.kind is Kind.WORRY
    assert not [r for r in listed(injector_id=desk.pk) if r.case.kind is Kind.WORRY]


def test_the_desk_is_told_to_ask_the_injector_and_reads_no_sign(
    page, anyone, desk, injector, signed_in
):
    say(anyone, page, signs=["vision"], note="Left eye")
    shown = signed_in(desk).get(reverse("follow-up")).content.decode()
    assert "Ask the injector" in shown
    assert "emergency" not in shown
    answer = CheckInAnswer.objects.get()
    assert signed_in(desk).get(reverse("aftercare-answer", args=[answer.pk])).status_code == 403
    assert "Signs of an emergency" in signed_in(injector).get(
        reverse("follow-up")
    ).content.decode()  # fmt: skip


@pytest.mark.parametrize(("sign", "how_fast"), [("pale", " at once"), ("lump", "")])
def test_the_desk_is_told_how_fast_and_since_when(page, anyone, desk, signed_in, sign, how_fast):
    say(anyone, page, signs=[sign])
    shown = signed_in(desk).get(reverse("follow-up")).content.decode()
    assert f"<strong>Ask the injector{how_fast}</strong>" in shown
    at = timezone.localtime(CheckInAnswer.objects.get().at)
    assert f'since <span class="num">{at:%a} {at.day} {at:%b, %H:%M}</span>' in shown


def test_whoever_answers_often_stands_once_on_the_list_and_is_settled_once(
    page, anyone, injector, signed_in
):
    say(anyone, page, signs=["pale"], note="First")
    say(anyone, page, signs=["lump"], note="Smaller")
    say(anyone, page, signs=["pale"], note="Again")
    say(anyone, page, signs=["lump"], note="Later")
    (row,) = listed()
    pressing = CheckInAnswer.objects.get(pk=row.case.pk)
    assert pressing.note == "Again"
    shown = signed_in(injector).get(reverse("aftercare-answer", args=[pressing.pk]))
    assert all(said in shown.content.decode() for said in ("First", "Smaller", "Later"))
    settle_worry(answer=pressing, done="Called", actor=injector)
    # What came after the call that was written down is dealt with by itself.
    assert CheckInAnswer.objects.waiting().get().note == "Later"
    assert [row.case.weight for row in listed()] == [1]


def test_a_later_all_is_well_takes_no_worry_off_the_list(page, anyone):
    say(anyone, page, signs=["pain"])
    say(anyone, page, feeling="well")
    assert [row.case.kind for row in listed()] == [Kind.WORRY]


def test_the_same_answer_again_is_one(page, anyone):
    for _ in range(2):
        say(anyone, page, signs=["pain"])
    assert CheckInAnswer.objects.count() == 1


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"feeling": ""}, "Choose one of the two."),
        ({"feeling": "worried"}, "Tick what worries you, or write it below."),
        ({"feeling": "worried", "signs": ["moon"]}, "moon is not one of the available choices"),
        ({"feeling": "worried", "note": "x" * 501}, "at most 500 letters"),
    ],
)
def test_an_answer_that_says_nothing_is_asked_again(page, anyone, fields, says):
    answer = anyone.post(page, fields)
    assert (answer.status_code, says in answer.content.decode()) == (200, True)
    assert not CheckInAnswer.objects.exists()


def test_an_answer_is_not_changed_without_end(check_in, page, anyone):
    for number in range(MOST_ANSWERS):
        answer_check_in(check_in=check_in, feeling=Feeling.WORRIED, note=f"Worry {number}")
    assert "changed too often" in say(anyone, page, note="One more")
    assert CALL in say(anyone, page, signs=["vision"])
    assert listed()[0].case.weight == 3
    assert "changed too often" in say(anyone, page, signs=["breath"])


def test_after_a_week_the_link_leads_nowhere(page, anyone, clock):
    clock.shift(timedelta(days=7))
    assert "This link cannot be used" in anyone.get(page).content.decode()


def test_a_worry_is_dealt_with_once_and_says_what_was_done(
    page, anyone, injector, owner, signed_in
):
    say(anyone, page, signs=["pale"], note="Cold lip")
    answer = CheckInAnswer.objects.get()
    client, address = signed_in(injector), reverse("aftercare-answer", args=[answer.pk])
    shown = client.get(address).content.decode()
    for words in ("Cold lip", "white, blue or blotchy", "tel:07700900123"):
        assert words in shown
    assert client.post(address, {"done": " "}).status_code == 422
    client.post(address, {"done": "Called, comes at four"})
    answer = refreshed(answer)
    assert (answer.done, answer.settled_by) == ("Called, comes at four", injector)
    assert not listed()
    with pytest.raises(SettledAlready, match="Called, comes at four"):
        settle_worry(answer=answer, done="Again", actor=owner)


def test_all_well_needs_no_settling(check_in, injector):
    answer = answer_check_in(check_in=check_in, feeling=Feeling.WELL)
    with pytest.raises(AftercareError, match="All was well"):
        settle_worry(answer=answer, done="Nothing", actor=injector)


def test_the_follow_up_page_begins_with_the_worry(page, anyone, ann, desk, injector, signed_in):
    bea = make_patient(desk, "Bea Example")
    make_event(injector, bea, grade="4", onset_on=datetime(2026, 11, 20, tzinfo=UTC).date())
    make_review(injector, bea, datetime(2026, 9, 1, tzinfo=UTC).date())
    client = signed_in(injector)
    before = client.get(reverse("follow-up")).content.decode()
    assert before.count("Bea Example") > 1
    assert ann.full_name not in before
    say(anyone, page, signs=["lump"])
    after = client.get(reverse("follow-up")).content.decode()
    assert after.index(ann.full_name) < after.index("Bea Example")
