"""Asking patients the day after how they are, and dealing with what they answer."""

from collections.abc import Collection
from datetime import datetime, time, timedelta

from django.db.models import Exists, OuterRef, QuerySet
from django.utils import timezone

from clinic.audit.services import acting
from clinic.policy.queries import current_policy
from planning.quiet_hours import QuietHours, not_quiet_from
from planning.warning_signs import WarningSign, names_an_emergency
from records.aftercare.enums import Feeling
from records.aftercare.errors import AftercareError, AnswerTooLate, SettledAlready
from records.aftercare.models import MOST_ANSWERS, CheckIn, CheckInAnswer
from records.reminders.enums import MessageKind
from records.reminders.queries import reminder_policy
from records.reminders.services.writing import new_message
from records.sessions.models import InjectionEntry, TreatmentSession

ASKED_AT = time(10)
"""By the clinic's clock, on the day after. Common practice, no source."""
TRIED_FOR = timedelta(hours=36)


def ask_due(now: datetime | None = None) -> None:
    """
    Write the question for each session signed since yesterday that has none.

    The sessions are looked at again and again, so nothing has to remember to ask.
    """
    now, policy = now or timezone.now(), reminder_policy()
    if not (policy.is_on and policy.checks_in):
        return
    quiet = current_policy().quiet
    for pk in list(_not_asked(now).values_list("pk", flat=True)):
        _ask(pk, quiet, now)


def _not_asked(now: datetime) -> QuerySet[TreatmentSession]:
    """What is written down days later is not asked about any more."""
    points = InjectionEntry.objects.standing().filter(session=OuterRef("pk"))
    since = now - timedelta(days=2)
    signed = TreatmentSession.objects.signed().filter(started_at__gte=since, started_at__lte=now)
    return signed.filter(Exists(points), check_in__isnull=True)


def _ask(session_pk: int, quiet: QuietHours, now: datetime) -> None:
    with acting(None) as trail:
        # Two workers at once meet here.
        session = TreatmentSession.objects.select_for_update(no_key=True).get(pk=session_pk)
        due_at = asked_at(session.started_at, quiet)
        until = due_at + TRIED_FOR
        if until <= now or CheckIn.objects.filter(session=session).exists():
            return
        message = new_message(
            key=f"check_in:{session.pk}", kind=MessageKind.CHECK_IN,
            patient_id=session.patient_id, due_at=due_at, until=until,
        )  # fmt: skip
        message.save(force_insert=True)
        check_in = CheckIn.objects.create(session=session, message=message)
        trail.add("check_in.written", check_in, patient_id=session.patient_id)


def asked_at(treated_at: datetime, quiet: QuietHours) -> datetime:
    """When a patient who was treated then is asked, in UTC: the next day, not in quiet hours."""
    zone = timezone.get_current_timezone()
    day = timezone.localdate(treated_at) + timedelta(days=1)
    return not_quiet_from(datetime.combine(day, ASKED_AT, tzinfo=zone), quiet, zone)


def answer_check_in(
    *,
    check_in: CheckIn,
    feeling: Feeling,
    signs: Collection[WarningSign] = (),
    note: str = "",
) -> CheckInAnswer:
    """
    Keep what the patient says. Whoever ticks a sign, or writes of an emergency, is worried whatever
    else was chosen. The same again changes nothing.

    Raises:
        AnswerTooLate: the answer changed too often.
    """
    if signs or names_an_emergency(note):
        feeling = Feeling.WORRIED
    answer = CheckInAnswer(
        check_in=check_in, feeling=feeling, signs=[sign.value for sign in signs], note=note,
        at=timezone.now(),
    )  # fmt: skip
    answer.weigh()
    with acting(None) as trail:
        locked = CheckIn.objects.select_for_update(of=("self",), no_key=True)
        stored = locked.select_related("session").get(pk=check_in.pk)
        latest = stored.answers.first()
        if latest and latest.settled_at is None and _says(latest) == _says(answer):
            return latest
        before = list(stored.answers.values_list("haste", flat=True))
        # What is more pressing than all before is always kept: it tells whom to call at once.
        if len(before) >= MOST_ANSWERS and answer.haste <= max(before):
            raise AnswerTooLate("This answer was changed too often. Please call us.")
        answer.save()
        after = {"feeling": answer.feeling, "haste": answer.haste}
        trail.add("check_in.answered", answer, patient_id=stored.session.patient_id, after=after)
    return answer


def _says(answer: CheckInAnswer) -> tuple:
    return answer.feeling, answer.signs, answer.note


def settle_worry(*, answer: CheckInAnswer, done: str, actor) -> CheckInAnswer:
    """
    Write down what was done about a worry; it leaves the follow-up list. It holds for what the
    patient answered before as well, and not for what came afterwards.

    Raises:
        SettledAlready: somebody was quicker.
        AftercareError: nothing is said, or there was no worry.
    """
    if not done.strip():
        raise AftercareError("Say what was done: whom you spoke to, and what comes next.")
    with acting(actor) as trail:
        locked = CheckInAnswer.objects.select_for_update(of=("self",))
        stored = locked.select_related("check_in__session").get(pk=answer.pk)
        if stored.settled_at is not None:
            raise SettledAlready(f"{stored.settled_by} dealt with this already: {stored.done}")
        if stored.feeling != Feeling.WORRIED:
            raise AftercareError("All was well: there is nothing to deal with.")
        patient_id, now = stored.check_in.session.patient_id, timezone.now()
        # The later one is locked first, whoever settles which.
        before = CheckInAnswer.objects.waiting().filter(check_in=stored.check_in, pk__lt=stored.pk)
        for each in (stored, *before.select_for_update().order_by("-pk")):
            each.settled_at, each.settled_by, each.done = now, actor, done.strip()
            each.save(update_fields=["settled_at", "settled_by", "done"])
            after = {"done": each.done}
            trail.add("check_in.settled", each, patient_id=patient_id, after=after)
    return stored
