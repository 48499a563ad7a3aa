"""Two workers, or two people, at one thing at the same moment: it happens once."""

import pytest

from planning.aftercare import AftercareKind
from records.aftercare.enums import Feeling
from records.aftercare.errors import SettledAlready, TextChanged
from records.aftercare.models import AftercareText, CheckIn, CheckInAnswer
from records.aftercare.services.checking_in import answer_check_in, ask_due, settle_worry
from records.aftercare.services.texts import save_text
from tests.records.waiting_list import test_races
from tests.records.waiting_list.test_races import at_once

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture(autouse=True)
def refusals(monkeypatch):
    monkeypatch.setattr(test_races, "REFUSALS", (SettledAlready, TextChanged))


def test_two_workers_ask_once(session, sending):
    assert at_once(ask_due, ask_due) == ["done", "done"]
    assert CheckIn.objects.count() == 1


def test_the_same_answer_sent_twice_is_one(check_in):
    def worry():
        answer_check_in(check_in=check_in, feeling=Feeling.WORRIED, note="A lump")

    assert at_once(worry, worry) == ["done", "done"]
    assert CheckInAnswer.objects.count() == 1


def test_a_worry_is_dealt_with_by_one(check_in, injector, owner):
    answer = answer_check_in(check_in=check_in, feeling=Feeling.WORRIED, note="A lump")
    acts = [
        lambda who=who: settle_worry(answer=answer, done=f"Called by {who}", actor=who)
        for who in (injector, owner)
    ]
    assert sorted(at_once(*acts)) == ["done", "refused"]


def test_of_two_first_versions_one_holds(owner, injector):
    acts = [
        lambda who=who: save_text(
            kind=AftercareKind.TOXIN, advice="Rest", signs="fever", written_on=0, actor=who
        )
        for who in (owner, injector)
    ]
    assert sorted(at_once(*acts)) == ["done", "refused"]
    assert AftercareText.objects.count() == 1
