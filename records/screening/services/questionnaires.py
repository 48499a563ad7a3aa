"""The owner's questions and rules. A change of the questions makes a new version."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass

from django.core.exceptions import ValidationError
from django.db import IntegrityError
from django.utils import timezone

from clinic.audit.services import acting, changes, snapshot
from records.screening.errors import QuestionsWrong, RuleTaken
from records.screening.models import Question, Questionnaire, ScreeningRule
from records.screening.queries import questionnaire_in_use
from records.screening.supplied import INTRO, QUESTIONS, RULES

RULE_FIELDS = [
    "question_code", "answer", "level", "kind", "alert_text", "backing", "source", "is_active",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class NewQuestion:
    """A question as the owner writes it; its place is that in the list."""

    code: str
    section: str
    words: str
    help: str
    kind: str


def take_up_supplied(*, actor=None) -> Questionnaire:
    """
    The questionnaire in use. A clinic that has none yet takes up the supplied questions and rules;
    of two who do so at once one writes them.
    """
    found = questionnaire_in_use()
    if found is None:
        questions = [NewQuestion(**row._asdict()) for row in QUESTIONS]
        try:
            with acting(actor):
                found = _write_version(1, INTRO, questions, actor)
                _write_supplied_rules()
        except IntegrityError:
            found = questionnaire_in_use()
            if found is None:
                raise
    return found


def change_questions(*, intro: str, questions: Sequence[NewQuestion], actor) -> Questionnaire:
    """
    Put another version in use; histories keep the questions they were asked by. The same questions
    again change nothing.

    Raises:
        QuestionsWrong: no question, or one code twice.
    """
    codes = [question.code for question in questions]
    if not codes:
        raise QuestionsWrong("Leave at least one question.")
    if twice := {code for code in codes if codes.count(code) > 1}:
        raise QuestionsWrong(f"The short name “{min(twice)}” stands twice. Choose another one.")
    with acting(actor):
        # All of them, for the one in use may be replaced while this waits for it.
        latest = max(Questionnaire.objects.select_for_update().values_list("version"), default=(0,))
        now = questionnaire_in_use()
        if now and now.intro == intro and _as_new(now) == list(questions):
            return now
        Questionnaire.objects.filter(is_in_use=True).update(is_in_use=False)
        version = max(latest[0], now.version if now else 0) + 1
        return _write_version(version, intro, questions, actor)


def _write_version(
    version: int, intro: str, questions: Sequence[NewQuestion], actor
) -> Questionnaire:
    with acting(actor) as trail:
        made = Questionnaire.objects.create(
            version=version, intro=intro, made_at=timezone.now(), made_by=actor
        )
        Question.objects.bulk_create(
            Question(questionnaire=made, position=position, **asdict(question))
            for position, question in enumerate(questions, start=1)
        )
        after = {"version": version, "questions": [question.words for question in questions]}
        trail.add("questionnaire.put_in_use", made, after=after)
    return made


def _as_new(questionnaire: Questionnaire) -> list[NewQuestion]:
    return [
        NewQuestion(row.code, row.section, row.words, row.help, row.kind)
        for row in questionnaire.questions.all()
    ]


def _write_supplied_rules() -> None:
    ScreeningRule.objects.bulk_create(
        (
            ScreeningRule(
                question_code=rule.code, answer=rule.answer, level=rule.level, kind=rule.kind,
                alert_text=rule.text, backing=rule.backing, source=rule.source,
            )
            for rule in RULES
        ),
        # A clinic may have written rules of its own before it asked anybody.
        ignore_conflicts=True,
    )  # fmt: skip


def save_rule(*, rule: ScreeningRule, actor) -> ScreeningRule:
    """
    Add or change a rule, or take it out of use. Alerts that were raised stay as they are.

    Raises:
        RuleTaken: there is a rule for the same answer.
    """
    try:
        with acting(actor) as trail:
            stored = ScreeningRule.objects.select_for_update().filter(pk=rule.pk).first()
            before = snapshot(stored, RULE_FIELDS) if stored else {}
            _refuse_twice(rule)
            rule.save()
            before, after = changes(before, snapshot(rule, RULE_FIELDS))
            if after:
                trail.add("screening_rule.saved", rule, before=before, after=after)
    except IntegrityError:
        # Somebody else was faster, which the check before could not see.
        _refuse_twice(rule)
        raise
    return rule


def _refuse_twice(rule: ScreeningRule) -> None:
    try:
        rule.validate_constraints()
    except ValidationError as problem:
        raise RuleTaken(" ".join(problem.messages)) from problem
