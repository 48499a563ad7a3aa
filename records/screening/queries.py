"""Reading medical histories: what holds, what is new in them, what is still to be settled."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Prefetch
from django.utils import timezone

from clinic.access.rules import reads_clinical
from planning.screening import Change, Given, change_of, good_until
from records.patients.models import Patient
from records.screening.enums import CheckKind, Way
from records.screening.models import (
    HistoryAnswer,
    HistoryCheck,
    HistoryForm,
    Question,
    Questionnaire,
    RaisedAlert,
    ScreeningRule,
)


@dataclass(frozen=True, slots=True)
class Standing:
    """
    How a patient's medical history stands.

    Attributes:
        form: the latest one that was sent; None: never asked.
        confirmed: the latest "nothing changed" about it.
        read: the latest reading by an injector.
        good_until: the last day it is gone by; None where the clinic sets no time.
    """

    form: HistoryForm | None
    confirmed: HistoryCheck | None = None
    read: HistoryCheck | None = None
    good_until: date | None = None

    @property
    def said_at(self) -> datetime | None:
        """When the patient last stood by it."""
        if self.confirmed:
            return self.confirmed.at
        return self.form.answered_at if self.form else None

    def is_old(self, on: date) -> bool:
        return self.good_until is not None and self.good_until < on


@dataclass(frozen=True, slots=True)
class AnswerRow:
    """One answer on the page: how it stands to the one before, and the alerts it raised."""

    answer: HistoryAnswer
    change: Change | None
    before: Given | None
    raised: list[RaisedAlert]


def questionnaire_in_use() -> Questionnaire | None:
    """None until the clinic asks for the first time: then it takes up the supplied one."""
    with_questions = Questionnaire.objects.prefetch_related("questions")
    return with_questions.filter(is_in_use=True).first()


def questions_by_section(questionnaire: Questionnaire) -> list[tuple[str, list[Question]]]:
    """The questions in their order; a heading stands once, where it first comes."""
    sections: dict[str, list[Question]] = defaultdict(list)
    for question in questionnaire.questions.all():
        sections[question.section].append(question)
    return list(sections.items())


def standing_of(patient: Patient, months: int | None) -> Standing:
    """As `standings_of_patients`, of one."""
    return standings_of_patients([patient.pk], months)[patient.pk]


def standings_of_patients(patients: Iterable[int], months: int | None) -> dict[int, Standing]:
    """
    By patient, with or without a history: two queries.

    Args:
        months: how long a history is gone by, of the clinic's policy; None: without an end.
    """
    patients = list(patients)
    sent = HistoryForm.objects.answered().filter(patient__in=patients)
    sent = sent.select_related("questionnaire").order_by("answered_at", "id")
    sent = sent.prefetch_related(Prefetch("checks", HistoryCheck.objects.select_related("by")))
    latest = {form.patient_id: form for form in sent}
    return {patient: _standing(latest.get(patient), months) for patient in patients}


def _standing(form: HistoryForm | None, months: int | None) -> Standing:
    if form is None or form.answered_at is None:
        return Standing(None)
    checks = list(form.checks.all())
    confirmed = [check for check in checks if CheckKind(check.kind).renews]
    read = [check for check in checks if not CheckKind(check.kind).renews]
    latest = confirmed[-1] if confirmed else None
    said_on = timezone.localdate(latest.at if latest else form.answered_at)
    return Standing(
        form=form,
        confirmed=latest,
        read=read[-1] if read else None,
        good_until=good_until(said_on, months) if months else None,
    )


def form_before(form: HistoryForm) -> HistoryForm | None:
    """The one that the patient sent before this one."""
    sent = HistoryForm.objects.answered().filter(patient=form.patient_id)
    if form.answered_at is not None:
        sent = sent.filter(answered_at__lte=form.answered_at).exclude(pk=form.pk)
    return sent.order_by("-answered_at", "-id").first()


def given_in(form: HistoryForm | None) -> dict[str, Given]:
    """What was said, by the question's code."""
    if form is None:
        return {}
    return {row.question.code: row.given for row in form.answers.select_related("question")}


def answers_to_start_from(form: HistoryForm) -> dict[str, Given]:
    """
    What the patient said the last time, where that may stand on the page: never behind a link, and
    not on a tablet that the front desk hands over, for it does not read answers.
    """
    if form.way == Way.LINK or not reads_clinical(form.begun_by):
        return {}
    return given_in(form_before(form))


def answer_rows(form: HistoryForm) -> list[tuple[str, list[AnswerRow]]]:
    """Each section with its answers; no change is told where the form is the first."""
    before = given_in(form_before(form))
    raised = RaisedAlert.objects.select_related("alert__ended_by")
    answers = form.answers.select_related("question").prefetch_related(Prefetch("raised", raised))
    sections: dict[str, list[AnswerRow]] = defaultdict(list)
    for answer in answers:
        code = answer.question.code
        change = change_of(answer.given, code, before) if before else None
        row = AnswerRow(answer, change, before.get(code), list(answer.raised.all()))
        sections[answer.question.section].append(row)
    return list(sections.items())


def current_raised(patients: Iterable[int]) -> dict[int, list[RaisedAlert]]:
    """By patient, the alerts from answers that were not ended since: one query."""
    found: dict[int, list[RaisedAlert]] = {patient: [] for patient in patients}
    raised = RaisedAlert.objects.filter(alert__patient__in=found, alert__ended_at=None)
    for row in raised.select_related("alert", "answer__question", "answer__form", "rule"):
        found[row.alert.patient_id].append(row)
    return found


def rules_by_code() -> dict[str, list[ScreeningRule]]:
    """All rules, those out of use too, by the code of their question."""
    found: dict[str, list[ScreeningRule]] = defaultdict(list)
    for rule in ScreeningRule.objects.all():
        found[rule.question_code].append(rule)
    return dict(found)
