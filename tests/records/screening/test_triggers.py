"""What was asked and answered stays, whatever path a change comes by."""

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from records.screening.enums import Way
from records.screening.models import (
    HistoryAnswer,
    HistoryForm,
    HistoryLink,
    Question,
    Questionnaire,
    RaisedAlert,
    ScreeningRule,
)
from records.screening.services.histories import begin_history, check_history
from records.screening.services.links import make_link
from records.screening.services.questionnaires import NewQuestion, change_questions
from tests.records.screening.histories import YES, make_history


@pytest.fixture
def history(injector, patient):
    return make_history(injector, patient, keloid=YES)


def refused(act) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        act()


def test_a_sent_form_and_its_answers_stay(history):
    refused(lambda: HistoryForm.objects.filter(pk=history.pk).update(answered_at=timezone.now()))
    refused(lambda: HistoryForm.objects.filter(pk=history.pk).update(answered_at=None))
    refused(lambda: HistoryAnswer.objects.update(said="no"))
    refused(lambda: HistoryAnswer.objects.all()._raw_delete("default"))
    refused(lambda: HistoryForm.objects.all()._raw_delete("default"))


def test_no_answer_comes_in_after_sending(history):
    answer = history.answers.first()
    question = Question.objects.create(
        questionnaire=history.questionnaire, code="late", position=99, section="Late",
        words="Late?", kind="yes_no",
    )  # fmt: skip
    refused(lambda: HistoryAnswer.objects.create(form=history, question=question, said="no"))
    assert history.answers.count() > 1
    assert answer is not None


def test_a_form_is_answered_by_its_own_questions(injector, owner, patient):
    form = begin_history(patient=patient, way=Way.STAFF, actor=injector)
    other = change_questions(
        intro="", questions=[NewQuestion("smoking", "Habits", "Do you?", "", "yes_no")], actor=owner
    ).questions.get()
    refused(lambda: HistoryAnswer.objects.create(form=form, question=other, said="no"))


def test_a_waiting_form_stays_of_its_patient(injector, patient, desk):
    form = begin_history(patient=patient, way=Way.STAFF, actor=injector)
    refused(lambda: HistoryForm.objects.filter(pk=form.pk).update(begun_by=desk))


def test_checks_and_the_origin_of_alerts_stay(history, injector):
    check = check_history(form=history, actor=injector)
    refused(lambda: type(check).objects.update(note="Other"))
    refused(lambda: RaisedAlert.objects.update(source="Other"))


def test_questions_stay_as_they_were_asked(history):
    refused(lambda: Question.objects.update(words="Other?"))
    refused(lambda: Questionnaire.objects.update(intro="Other"))
    refused(lambda: Questionnaire.objects.all()._raw_delete("default"))


def test_a_version_that_was_replaced_does_not_come_back(history, owner):
    change_questions(
        intro="", questions=[NewQuestion("smoking", "Habits", "Do you?", "", "yes_no")], actor=owner
    )
    Questionnaire.objects.filter(version=2).update(is_in_use=False)
    refused(lambda: Questionnaire.objects.filter(version=1).update(is_in_use=True))


def test_a_link_is_used_once(injector, patient):
    link = make_link(patient=patient, actor=injector)
    HistoryLink.objects.filter(pk=link.pk).update(used_at=timezone.now())
    refused(lambda: HistoryLink.objects.filter(pk=link.pk).update(used_at=None))


def test_one_questionnaire_is_in_use(history):
    refused(lambda: Questionnaire.objects.create(version=2, made_at=timezone.now()))


def test_a_patient_has_one_form_that_waits(injector, patient):
    form = begin_history(patient=patient, way=Way.STAFF, actor=injector)
    refused(
        lambda: HistoryForm.objects.create(
            patient=patient, questionnaire=form.questionnaire, way="staff", begun_by=injector,
            begun_at=timezone.now(),
        )
    )  # fmt: skip


@pytest.mark.parametrize(
    "change",
    [
        {"level": "loud"}, {"kind": "none_known"}, {"answer": "unsure"}, {"backing": "hearsay"},
        {"alert_text": ""}, {"backing": "published", "source": ""},
    ],
)  # fmt: skip
def test_a_rule_says_what_can_be_said(history, change):
    rule = ScreeningRule.objects.filter(question_code="dental")
    refused(lambda: rule.update(**change))


def test_a_form_is_not_both_sent_and_withdrawn(injector, patient):
    form = begin_history(patient=patient, way=Way.STAFF, actor=injector)
    now = timezone.now()
    both = HistoryForm.objects.filter(pk=form.pk)
    refused(lambda: both.update(answered_at=now, withdrawn_at=now))
