"""Asking a patient, keeping what they say, and reading it."""

from collections.abc import Mapping

from django.utils import timezone

from clinic.audit.services import Trail, acting
from clinic.staff.models import User
from planning.screening import Given
from records.patients.models import Patient
from records.reminders.services.inviting import ask_no_more
from records.screening.enums import CheckKind, Way
from records.screening.errors import FormClosed, NothingToConfirm
from records.screening.models import HistoryAnswer, HistoryCheck, HistoryForm, HistoryLink
from records.screening.services.alerts import settle_alerts
from records.screening.services.questionnaires import take_up_supplied


def begin_history(*, patient: Patient, way: Way, actor: User) -> HistoryForm:
    """Ask a patient by the questions in use. A form that waits is withdrawn, with its link."""
    questionnaire = take_up_supplied()
    with acting(actor) as trail:
        # Two who begin at once wait for each other here.
        Patient.objects.select_for_update().get(pk=patient.pk)
        _withdraw_waiting(patient, trail)
        form = HistoryForm.objects.create(
            patient=patient, questionnaire=questionnaire, way=way, begun_at=timezone.now(),
            begun_by=actor,
        )  # fmt: skip
        trail.add("history.begun", form, patient_id=patient.pk, after={"way": way})
    return form


def _withdraw_waiting(patient: Patient, trail: Trail) -> None:
    """End the form that waits, and its link with the message that would bring it."""
    for earlier in HistoryForm.objects.waiting().filter(patient=patient).select_related("link"):
        earlier.withdrawn_at = timezone.now()
        earlier.save(update_fields=["withdrawn_at"])
        trail.add("history.withdrawn", earlier, patient_id=patient.pk)
        if hasattr(earlier, "link"):
            ask_no_more(reference=earlier.link.reference, actor=trail.actor)


def send_history(
    *, form: HistoryForm, answers: Mapping[str, Given], actor: User | None
) -> HistoryForm:
    """
    Keep what the patient said, and let it raise and end alerts.

    Args:
        answers: by the code of the question, one for each question of the form.
        actor: who is signed in; None where the patient answers by a link. Alerts then stand in the
            name of whoever sent the link.

    Raises:
        FormClosed: it was sent already, or another form took its place.
    """
    with acting(actor) as trail:
        stored = _locked(form)
        questions = {question.code: question for question in stored.questionnaire.questions.all()}
        HistoryAnswer.objects.bulk_create(
            HistoryAnswer(form=stored, question=question, said=given.said, detail=given.detail)
            for code, question in questions.items()
            for given in [answers[code]]
        )
        stored.answered_at = timezone.now()
        stored.save(update_fields=["answered_at"])
        for link in HistoryLink.objects.filter(form=stored):
            link.used_at = stored.answered_at
            link.save(update_fields=["used_at"])
            ask_no_more(reference=link.reference, actor=actor)
        after = {"way": stored.way, "answers": len(questions)}
        trail.add("history.answered", stored, patient_id=stored.patient_id, after=after)
        settle_alerts(stored, actor or stored.begun_by)
    return stored


def _locked(form: HistoryForm) -> HistoryForm:
    # The patient first, as whoever begins another form locks it.
    Patient.objects.select_for_update().get(pk=form.patient_id)
    stored = HistoryForm.objects.select_for_update(of=("self",)).select_related(
        "questionnaire", "patient", "begun_by"
    ).get(pk=form.pk)  # fmt: skip
    if not stored.is_waiting:
        raise FormClosed("These answers were sent already, or are asked for anew. Nothing is lost.")
    return stored


def check_history(*, form: HistoryForm, note: str = "", actor: User) -> HistoryCheck:
    """Note that an injector read the answers and what they raised; the note may say more."""
    with acting(actor) as trail:
        stored = HistoryForm.objects.select_for_update().get(pk=form.pk)
        if stored.answered_at is None:
            raise NothingToConfirm("This form is not answered yet: there is nothing to check.")
        return _check(stored, CheckKind.READ, note, actor, trail)


def confirm_unchanged(*, patient: Patient, kind: CheckKind, actor: User) -> HistoryCheck:
    """
    Note that nothing changed since the latest history; it counts as given anew. A form that waits
    is withdrawn.

    Raises:
        NothingToConfirm: none was given yet, or the clinic asks other questions by now.
    """
    with acting(actor) as trail:
        Patient.objects.select_for_update().get(pk=patient.pk)
        sent = HistoryForm.objects.answered().filter(patient=patient)
        latest = sent.select_related("questionnaire").order_by("-answered_at", "-id").first()
        if latest is None:
            raise NothingToConfirm("No medical history was given yet. Please ask for one.")
        if not latest.questionnaire.is_in_use:
            raise NothingToConfirm(
                "The clinic asks other questions by now. Please ask for a new medical history."
            )
        _withdraw_waiting(patient, trail)
        return _check(latest, kind, "", actor, trail)


def _check(
    form: HistoryForm, kind: CheckKind, note: str, actor: User, trail: Trail
) -> HistoryCheck:
    check = HistoryCheck.objects.create(
        form=form, kind=kind, note=note.strip(), at=timezone.now(), by=actor
    )
    after = {"kind": kind, "note": check.note}
    trail.add("history.checked", check, patient_id=form.patient_id, after=after)
    return check
