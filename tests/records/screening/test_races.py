"""Two people at one moment: one questionnaire, one form that waits, one set of answers."""

import threading
from functools import partial

import pytest
from django.db import connection

from records.patients.models import Alert
from records.screening.enums import Way
from records.screening.errors import FormClosed
from records.screening.models import HistoryAnswer, HistoryForm, Questionnaire
from records.screening.services.histories import begin_history, send_history
from records.screening.supplied import QUESTIONS
from tests.records.screening.histories import YES, answers

pytestmark = pytest.mark.django_db(transaction=True)


def at_once(act, times: int = 2) -> list[str]:
    """Do it in so many threads that start together; "done", or the name of the error, of each."""
    gate, outcomes = threading.Barrier(times), [""] * times

    def run(number: int) -> None:
        try:
            gate.wait(timeout=10)
            act()
            outcomes[number] = "done"
        except Exception as error:
            outcomes[number] = type(error).__name__
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=(number,)) for number in range(times)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return sorted(outcomes)


def test_a_new_clinic_asked_twice_at_once_has_one_questionnaire(injector, patient):
    act = partial(begin_history, patient=patient, way=Way.STAFF, actor=injector)
    assert at_once(act) == ["done", "done"]
    assert Questionnaire.objects.count() == 1
    assert HistoryForm.objects.waiting().count() == 1


def test_answers_sent_twice_at_once_are_kept_once(injector, patient):
    form = begin_history(patient=patient, way=Way.STAFF, actor=injector)
    given = answers(form.questionnaire, keloid=YES)
    act = partial(send_history, form=form, answers=given, actor=injector)
    assert at_once(act) == sorted(["done", FormClosed.__name__])
    assert HistoryAnswer.objects.count() == len(QUESTIONS)
    assert Alert.objects.count() == 1
