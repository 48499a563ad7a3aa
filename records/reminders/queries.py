"""How a patient can be written to, and what of messages and answers a person has to settle."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

import phonenumbers
from django.conf import settings
from django.db.models import Case, Exists, F, OuterRef, Q, QuerySet, Subquery, Value, When
from django.db.models.functions import Coalesce
from django.utils import timezone

from clinic.staff.models import User
from records.appointments.enums import AppointmentState
from records.appointments.models import Appointment
from records.patients.enums import Channel
from records.patients.models import Patient
from records.reminders.enums import AnswerKind, MessageKind, MessageRoute, MessageState
from records.reminders.models import Answer, Message, ReminderPolicy

_NO_TEXTS = {phonenumbers.PhoneNumberType.FIXED_LINE}


def reminder_policy() -> ReminderPolicy:
    """The stored policy, or the defaults, which send nothing."""
    return ReminderPolicy.objects.filter(pk=1).first() or ReminderPolicy()


def stays_here() -> bool:
    """Whether neither e-mails nor text messages leave this machine."""
    return not (settings.EMAIL_LEAVES or settings.TEXT_MESSAGES_LEAVE)


@dataclass(frozen=True, slots=True)
class Reach:
    """How to reach a patient; `why_not` says why no message goes where one must be called."""

    route: MessageRoute
    recipient: str = ""
    why_not: str = ""

    @property
    def is_written(self) -> bool:
        return self.route != MessageRoute.CALL


class Reachable(Protocol):
    """What must be known of a patient to write to them: a Patient, or a row of a list."""

    @property
    def preferred_channel(self) -> str: ...
    @property
    def agrees_to_sms(self) -> bool: ...
    @property
    def agrees_to_email(self) -> bool: ...
    @property
    def phone(self) -> str: ...
    @property
    def email(self) -> str: ...


def reach(patient: Reachable) -> Reach:
    """
    By the channel the patient prefers, if they agreed to it and it is noted; else by the other one
    of e-mail and text message. Whoever prefers the telephone or letters is called.
    """
    preferred = Channel(patient.preferred_channel)
    if preferred not in (Channel.EMAIL, Channel.SMS):
        return Reach(MessageRoute.CALL, why_not=f"Prefers {preferred.label.lower()}.")
    order = [MessageRoute.SMS, MessageRoute.EMAIL]
    if preferred == Channel.EMAIL:
        order.reverse()
    ways = {
        MessageRoute.SMS: (patient.agrees_to_sms, text_number(patient.phone)),
        MessageRoute.EMAIL: (patient.agrees_to_email, patient.email),
    }
    for route in order:
        agreed, recipient = ways[route]
        if agreed and recipient:
            return Reach(route, recipient)
    return Reach(MessageRoute.CALL, why_not=_why_not(ways))


def _why_not(ways: dict[MessageRoute, tuple[bool, str]]) -> str:
    if not any(agreed for agreed, _ in ways.values()):
        return "Has not agreed to be written to."
    missing = [route.label.lower() for route, (agreed, to) in ways.items() if agreed and not to]
    return f"Agreed to {' and '.join(missing)}, but none is noted that it can be sent to."


def text_number(phone: str) -> str:
    """The number in E.164, or "" if it cannot get a text message."""
    try:
        number = phonenumbers.parse(phone, settings.PHONE_REGION)
    except phonenumbers.NumberParseException:
        return ""
    kind = phonenumbers.number_type(number)
    if not phonenumbers.is_possible_number(number) or kind in _NO_TEXTS:
        return ""
    return phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.E164)


@dataclass(frozen=True, slots=True)
class ToSettle:
    """
    Something that came back to the desk.

    Attributes:
        what: in a few words; `detail`: the reason, or what the patient wrote.
        url: where the one next act is posted, with its `verb`; `give_up_url` and `again_url` where
            there is another.
        pressing: sorts the list; the smaller the sooner.
    """

    patient: Patient
    appointment: Appointment | None
    starts_at: datetime | None
    at: datetime
    what: str
    detail: str
    badge: str
    url_name: str
    pk: int
    verb: str
    message: Message | None = None
    answer: Answer | None = None

    @property
    def source(self) -> str:
        """Together with `pk` it names the row, on every page."""
        return "answer" if self.answer else "message"

    @property
    def key(self) -> str:
        return f"{self.source}-{self.pk}"

    @property
    def practitioner(self) -> User | None:
        """Whose visit it is about, or who treated whoever is invited to a review."""
        if self.appointment:
            return self.appointment.practitioner
        review = self.message.review if self.message else None
        return review.session.injector if review else None

    @property
    def pressing(self) -> tuple[bool, datetime]:
        """Visits to come by their time, then what has none by its own."""
        return (self.starts_at is None, self.starts_at or self.at)


# What is told of a message that came back: six joined tables have 180 columns.
_TOLD_OF = (
    "kind", "state", "problem", "due_at", "starts_at", "patient__record_number",
    "patient__full_name", "patient__phone", "patient__email", "patient__address",
    "patient__preferred_channel", "patient__agrees_to_email", "patient__agrees_to_sms",
    "appointment__practitioner__full_name", "review__session__injector__full_name",
)  # fmt: skip


def to_settle(now: datetime | None = None) -> list[ToSettle]:
    """What the desk has to settle, the nearest visit first; two queries."""
    now = now or timezone.now()
    rows = [*map(_of_answer, open_answers(now)), *map(_of_message, messages_to_settle(now))]
    return sorted(rows, key=lambda row: row.pressing)


def messages_to_settle(now: datetime) -> QuerySet[Message]:
    """Those a person has to look at, as long as what they tell still holds."""
    states = [state for state in MessageState if state.needs_a_person]
    booked = Q(
        review__appointment__state=AppointmentState.BOOKED, review__appointment__starts_at__gt=now
    )
    holds = (
        Q(appointment=None, review=None)
        | Q(review__isnull=False, review__closed_at=None) & ~booked
        | Q(kind=MessageKind.CANCELLED, appointment__state=AppointmentState.CANCELLED)
        | Q(kind=MessageKind.OFFER, appointment__state=AppointmentState.OFFERED)
        | Q(
            kind__in=[kind for kind in MessageKind if kind.is_of_a_booking],
            appointment__state=AppointmentState.BOOKED,
            appointment__starts_at=F("starts_at"),
        )
    )
    still = Q(starts_at=None) | Q(starts_at__gt=now)
    settle = Message.objects.filter(holds, still, state__in=states)
    return settle.select_related(
        "patient", "appointment__practitioner", "review__session__injector"
    ).only(*_TOLD_OF)


def open_answers(now: datetime) -> QuerySet[Answer]:
    """
    The latest answer about each visit to come, where it asks for something. Moving or cancelling
    the visit settles it by itself.
    """
    later = Answer.objects.filter(
        appointment=OuterRef("appointment"), starts_at=OuterRef("starts_at"), pk__gt=OuterRef("pk")
    )
    return Answer.objects.filter(
        ~Exists(later),
        kind__in=[kind for kind in AnswerKind if kind.asks],
        settled_at=None,
        starts_at__gt=now,
        appointment__state=AppointmentState.BOOKED,
        appointment__starts_at=F("starts_at"),
    ).select_related("appointment__patient", "appointment__practitioner")


def _of_answer(answer: Answer) -> ToSettle:
    appointment = answer.appointment
    return ToSettle(
        patient=appointment.patient, appointment=appointment, starts_at=answer.starts_at,
        at=answer.at, what=str(AnswerKind(answer.kind).label), detail=answer.note, badge="due",
        url_name="reminder-answer-settle", pk=answer.pk, verb="Settled", answer=answer,
    )  # fmt: skip


_ACTS = {
    MessageState.TO_CALL: ("reminder-called", "Called"),
    MessageState.UNDELIVERABLE: ("reminder-again", "Send again"),
    MessageState.UNSURE: ("reminder-sent", "It was sent"),
}


def _of_message(message: Message) -> ToSettle:
    state, kind = MessageState(message.state), MessageKind(message.kind)
    url_name, verb = _ACTS[state]
    return ToSettle(
        patient=message.patient, appointment=message.appointment, starts_at=message.starts_at,
        at=message.due_at, what=f"{state.label}: {kind.label.lower()}", detail=message.problem,
        badge=state.badge, url_name=url_name, pk=message.pk, verb=verb, message=message,
    )  # fmt: skip


def latest_answers(appointments: Iterable[Appointment]) -> dict[int, Answer]:
    """The answer that holds for each of these visits at its time, by the visit's id; one query."""
    times = {appointment.pk: appointment.starts_at for appointment in appointments}
    found = Answer.objects.filter(appointment__in=times).order_by("pk")
    return {
        answer.appointment_id: answer
        for answer in found
        if answer.starts_at == times[answer.appointment_id]
    }


def asked_about() -> Case:
    """
    For a query over appointments: the kind of the answer by which the patient of a booked visit
    asks for something that nobody settled yet, about its time as it is; "" where there is none.
    """
    answers = Answer.objects.filter(appointment=OuterRef("pk"), starts_at=OuterRef("starts_at"))
    asks = When(settled_at=None, kind__in=[kind for kind in AnswerKind if kind.asks], then="kind")
    latest = answers.order_by("-pk").values(asked=Case(asks, default=Value("")))[:1]
    asked = Coalesce(Subquery(latest), Value(""))
    return Case(When(state=AppointmentState.BOOKED, then=asked), default=Value(""))


def says_no(answer: Answer | None) -> bool:
    """Whether the patient does not come at that time."""
    return answer is not None and answer.kind == AnswerKind.CANNOT


def confirmed(appointments: Iterable[Appointment]) -> set[int]:
    """Which of these visits the patient confirmed, by id, for the time they have now."""
    answers = latest_answers(appointments)
    return {pk for pk, answer in answers.items() if answer.kind == AnswerKind.COMES}


def messages_of(patient: Patient) -> QuerySet[Message]:
    """The latest first."""
    return patient.messages.listed().order_by("-due_at", "-id")


def answers_by_message(messages: Iterable[Message]) -> Iterator[tuple[Message, Answer | None]]:
    """Each message with the latest answer that came by it; one query."""
    listed = list(messages)
    given = Answer.objects.filter(message__in=listed).order_by("pk")
    found = {row.message_id: row for row in given}
    return ((message, found.get(message.pk)) for message in listed)
