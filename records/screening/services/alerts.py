"""What a history that was sent does to the patient's alerts."""

from django.utils import timezone

from planning.review_dates import day_in_words
from planning.screening import Said, meets
from records.patients.services import add_alert, end_alert
from records.screening.models import HistoryForm, RaisedAlert, ScreeningRule
from records.screening.queries import current_raised

ALERT_LENGTH = 300
_UNSURE = "Not sure"


def settle_alerts(form: HistoryForm, actor) -> None:
    """
    Raise what the answers ask for, and end what an earlier form raised and this one does not say.

    An alert that still holds in the same words stays, with its origin: none is there twice. One
    about a question that was not asked this time stays too. Part of the act that sends the form.
    """
    answers = {row.question.code: row for row in form.answers.select_related("question")}
    wanted = {
        (rule.question_code, rule.level, _text(rule, row)): (rule, row)
        for rule in ScreeningRule.objects.filter(is_active=True, question_code__in=answers)
        if (row := answers[rule.question_code]) and meets(Said(rule.answer), Said(row.said))
    }
    day = day_in_words(timezone.localdate(form.answered_at))
    for raised in current_raised([form.patient_id])[form.patient_id]:
        code, alert = raised.answer.question.code, raised.alert
        if wanted.pop((code, alert.level, alert.text), None) or code not in answers:
            continue
        said = answers[code].get_said_display().lower()
        reason = f"The medical history of {day} says otherwise: {said}."
        end_alert(alert=alert, reason=reason, actor=actor)
    for (_, level, text), (rule, row) in wanted.items():
        alert = add_alert(patient=form.patient, kind=rule.kind, level=level, text=text, actor=actor)
        RaisedAlert.objects.create(alert=alert, answer=row, rule=rule, source=rule.source_text)


def _text(rule: ScreeningRule, row) -> str:
    """The rule's words, and what the patient wrote to them; cut where an alert ends."""
    parts = [rule.alert_text, _UNSURE if row.said == Said.UNSURE else "", row.detail]
    text = ": ".join(" ".join(part.split()) for part in parts if part)
    return text if len(text) <= ALERT_LENGTH else f"{text[: ALERT_LENGTH - 2]} …"
