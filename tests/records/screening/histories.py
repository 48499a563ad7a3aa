"""A medical history in one line: everything denied but what the test says."""

from planning.screening import Given, Said
from records.patients.models import Patient
from records.screening.enums import QuestionKind, Way
from records.screening.models import HistoryForm, Questionnaire
from records.screening.services.histories import begin_history, send_history

YES, NO, UNSURE = Given(Said.YES), Given(Said.NO), Given(Said.UNSURE)


def answers(questionnaire: Questionnaire, **said: Given) -> dict[str, Given]:
    """By code; underscores in a keyword stand for hyphens."""
    named = {code.replace("_", "-"): given for code, given in said.items()}
    denied = {True: NO, False: Given(Said.NOTHING)}
    return {
        question.code: named.get(question.code, denied[QuestionKind(question.kind).is_chosen])
        for question in questionnaire.questions.all()
    }


def make_history(actor, patient: Patient, *, way: Way = Way.STAFF, **said: Given) -> HistoryForm:
    form = begin_history(patient=patient, way=way, actor=actor)
    given = answers(form.questionnaire, **said)
    return send_history(form=form, answers=given, actor=actor)


def typed(questionnaire: Questionnaire, **said: str) -> dict[str, str]:
    """What a browser sends: "no" to everything but what the test says."""
    named = {code.replace("_", "-"): value for code, value in said.items()}
    return {
        f"said-{question.code}": named.get(question.code, "no")
        for question in questionnaire.questions.all()
        if QuestionKind(question.kind).is_chosen
    }
