"""Medical histories: Questionnaire, and QuestionnaireResponse for each time of asking."""

from collections.abc import Iterator

from planning.screening import Said
from records.interchange.parts import Json, moment, own_coding
from records.interchange.queries import PatientRecord
from records.interchange.references import References
from records.screening.enums import QuestionKind, Way
from records.screening.models import HistoryAnswer, HistoryForm, Question, Questionnaire

_CHOICES = (Said.YES, Said.NO, Said.UNSURE)


def histories(record: PatientRecord, refs: References) -> Iterator[Json]:
    versions = {form.questionnaire_id: form.questionnaire for form in record.histories}
    for _, questionnaire in sorted(versions.items()):
        yield _questionnaire(questionnaire, refs)
    for form in record.histories:
        yield _response(form, refs)


def _url(questionnaire_id: int, refs: References) -> str:
    return f"urn:uuid:{refs.id_of('Questionnaire', questionnaire_id)}"


def _questionnaire(questionnaire: Questionnaire, refs: References) -> Json:
    return {
        "resourceType": "Questionnaire",
        "id": refs.id_of("Questionnaire", questionnaire.pk),
        "url": _url(questionnaire.pk, refs),
        "version": str(questionnaire.version),
        "title": f"Medical history, version {questionnaire.version}",
        "status": "active" if questionnaire.is_in_use else "retired",
        "date": moment(questionnaire.made_at),
        "description": questionnaire.intro,
        "item": [_item(question) for question in questionnaire.questions.all()],
    }


def _item(question: Question) -> Json:
    if not QuestionKind(question.kind).is_chosen:
        return {"linkId": question.code, "text": question.words, "type": "text"}
    choices = [{"valueCoding": own_coding("said", said)} for said in _CHOICES]
    return {
        "linkId": question.code,
        "text": question.words,
        "type": "choice",
        "answerOption": choices,
        "item": [_detail_item(question)] if question.kind == QuestionKind.DETAIL else [],
    }


def _detail_item(question: Question) -> Json:
    return {"linkId": f"{question.code}.detail", "text": "In words", "type": "text"}


def _response(form: HistoryForm, refs: References) -> Json:
    """One that waits is in progress; one that was replaced before it was sent was stopped."""
    answered = "completed" if form.answered_at else "in-progress"
    return {
        "resourceType": "QuestionnaireResponse",
        "id": refs.id_of("QuestionnaireResponse", form.pk),
        "questionnaire": _url(form.questionnaire_id, refs),
        "status": "stopped" if form.withdrawn_at else answered,
        "subject": refs.patient,
        "authored": moment(form.answered_at or form.begun_at),
        "author": refs.person(form.begun_by_id) if form.way == Way.STAFF else refs.patient,
        "source": refs.patient,
        "item": [_answer(answer) for answer in form.answers.all()],
    }


def _answer(answer: HistoryAnswer) -> Json:
    question = answer.question
    item: Json = {"linkId": question.code, "text": question.words}
    if answer.said in _CHOICES:
        detail = {"linkId": f"{question.code}.detail", "answer": [{"valueString": answer.detail}]}
        chosen = {"valueCoding": own_coding("said", Said(answer.said))}
        return {**item, "answer": [{**chosen, "item": [detail] if answer.detail else []}]}
    return {**item, "answer": [{"valueString": answer.detail}] if answer.detail else []}
