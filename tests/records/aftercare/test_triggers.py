"""What was given and answered stays, whatever path a change comes by."""

import pytest
from django.db import IntegrityError, transaction

from records.aftercare.enums import Feeling
from records.aftercare.models import AftercareSheet, AftercareText, CheckIn, CheckInAnswer
from records.aftercare.services.checking_in import answer_check_in, settle_worry
from records.aftercare.services.sheets import show_sheet
from records.aftercare.services.texts import save_text


def refused(act) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        act()


@pytest.fixture
def answer(check_in):
    return answer_check_in(check_in=check_in, feeling=Feeling.WORRIED, note="A lump")


@pytest.fixture
def everything(answer, session, injector, owner):
    show_sheet(session=session, actor=injector)
    save_text(kind="filler", advice="Rest", signs="fever", written_on=0, actor=owner)


@pytest.mark.parametrize("model", [AftercareSheet, AftercareText, CheckIn, CheckInAnswer])
def test_nothing_is_deleted(everything, model):
    refused(lambda: model.objects.all()._raw_delete("default"))


@pytest.mark.parametrize(
    ("model", "change"),
    [(AftercareSheet, {"content": {}}), (AftercareText, {"advice": "Run"}),
     (CheckIn, {"session_id": 0})],
)  # fmt: skip
def test_what_was_given_stays_as_it_was(everything, model, change):
    refused(lambda: model.objects.update(**change))


@pytest.mark.parametrize(
    "change", [{"note": "x"}, {"signs": ["lump"]}, {"haste": 3}, {"feeling": "well", "haste": 0}]
)
def test_an_answer_stays_as_it_was_given(answer, change):
    refused(lambda: CheckInAnswer.objects.update(**change))


def test_what_was_done_stays(answer, injector):
    settle_worry(answer=answer, done="Called", actor=injector)
    refused(lambda: CheckInAnswer.objects.update(done="Not called"))


@pytest.mark.parametrize(
    "fields", [{"feeling": "well", "haste": 2}, {"feeling": "worried", "haste": 0}, {"done": "x"}]
)
def test_an_answer_that_cannot_be_is_refused(check_in, answer, fields):
    fields = {"feeling": "worried", "haste": 1, "at": answer.at, **fields}
    refused(lambda: CheckInAnswer.objects.create(check_in=check_in, **fields))


@pytest.mark.parametrize(
    "fields", [{"way": "printed"}, {"way": "email"}, {"way": "shown"}, {"way": "sung"}]
)
def test_a_sheet_without_what_its_way_needs_is_refused(session, injector, fields):
    told = {"session": session, "content": {}, "given_by": injector, "given_at": session.started_at}
    refused(lambda: AftercareSheet.objects.create(**told, **fields))


@pytest.mark.parametrize(
    "fields", [{"kind": "moon"}, {"advice": ""}, {"signs": ""}, {"version": 0}, {"version": 1}]
)
def test_a_text_that_cannot_be_is_refused(everything, owner, session, fields):
    text = {"kind": "filler", "version": 2, "advice": "Rest", "signs": "fever", **fields}
    told = {"written_by": owner, "written_at": session.started_at}
    refused(lambda: AftercareText.objects.create(**told, **text))
