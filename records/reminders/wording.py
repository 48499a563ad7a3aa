"""The words of messages: what a text may leave open, and what it says until the clinic says it."""

from datetime import datetime
from typing import NamedTuple

from django.conf import settings
from django.urls import reverse
from django.utils import timezone

from clinic.policy.models import ClinicPolicy
from clinic.sites.models import Site
from planning.merging import Placeholder, fill
from records.appointments.models import Appointment
from records.calendars.queries import site_of
from records.reminders.enums import MessageKind, MessageRoute
from records.reminders.models import Message, MessageTemplate
from records.reminders.tokens import token_of

ROUTES = (MessageRoute.EMAIL, MessageRoute.SMS)
LINK = "link"

_ALWAYS = (
    Placeholder("clinic", "the clinic's name, from the policy", "Our clinic", is_private=False),
    Placeholder("phone", "the clinic's telephone", "020 7946 0123", is_private=False),
    Placeholder("address", "the clinic's address", "1 Example Street, London", is_private=False),
)
_OF_A_VISIT = (
    Placeholder("day", "the day of the visit", "Friday 4 December", is_private=False),
    Placeholder("time", "its time", "10:30", is_private=False),
    Placeholder("site", "the clinic's site it is at", "High Street", is_private=False),
    Placeholder("practitioner", "whom the visit is with", "Ida Injector"),
)
_LINK = Placeholder(LINK, "the patient's own link", "")


class Wording(NamedTuple):
    """Subject (of e-mails) and text, with their placeholders."""

    subject: str
    text: str


_SUBJECT = "Your visit to {clinic}"
_EMAIL_END = "\n\n{address}\n\nQuestions? Please call us: {phone}"
_EMAIL_LINK = (
    "\n\nPlease confirm, or ask for another time, by this link, which is yours alone:\n{link}"
)

DEFAULTS: dict[tuple[MessageKind, MessageRoute], Wording] = {
    (MessageKind.CONFIRMATION, MessageRoute.EMAIL): Wording(
        _SUBJECT,
        f"Your visit to {{clinic}} is booked for {{day}} at {{time}}.{_EMAIL_LINK}{_EMAIL_END}",
    ),
    (MessageKind.CONFIRMATION, MessageRoute.SMS): Wording(
        "", "{clinic}: you are booked for {day}, {time}. To confirm or change: {link}"
    ),
    (MessageKind.REMINDER, MessageRoute.EMAIL): Wording(
        _SUBJECT,
        f"We expect you at {{clinic}} on {{day}} at {{time}}.{_EMAIL_LINK}{_EMAIL_END}",
    ),
    (MessageKind.REMINDER, MessageRoute.SMS): Wording(
        "", "{clinic}: we expect you on {day}, {time}. To confirm or change: {link}"
    ),
    (MessageKind.CHANGED, MessageRoute.EMAIL): Wording(
        "A new time for your visit to {clinic}",
        f"Your visit to {{clinic}} is now on {{day}} at {{time}}.{_EMAIL_LINK}{_EMAIL_END}",
    ),
    (MessageKind.CHANGED, MessageRoute.SMS): Wording(
        "", "{clinic}: a new time, {day}, {time}. To confirm or change: {link}"
    ),
    (MessageKind.CANCELLED, MessageRoute.EMAIL): Wording(
        _SUBJECT,
        "Your visit to {clinic} on {day} at {time} does not take place."
        "\n\nFor another time, please call us: {phone}",
    ),
    (MessageKind.CANCELLED, MessageRoute.SMS): Wording(
        "", "{clinic}: your visit on {day}, {time} does not take place. New time: {phone}"
    ),
    (MessageKind.REVIEW, MessageRoute.EMAIL): Wording(
        "Your next visit to {clinic}",
        f"It is time to book your next visit to {{clinic}}.{_EMAIL_END}",
    ),
    (MessageKind.REVIEW, MessageRoute.SMS): Wording(
        "", "{clinic}: it is time to book your next visit. Please call us: {phone}"
    ),
    (MessageKind.OFFER, MessageRoute.EMAIL): Wording(
        "A free time at {clinic}",
        "A time has become free at {clinic}: {day} at {time}."
        "\n\nWould you like it? Answer here, or call us soon: {phone}\n{link}",
    ),
    (MessageKind.OFFER, MessageRoute.SMS): Wording(
        "", "{clinic}: {day}, {time} is free. Take it: {link}"
    ),
    (MessageKind.AFTERCARE, MessageRoute.EMAIL): Wording(
        "After your visit to {clinic}",
        "What to do now and what to look out for stands on this page, which is yours alone. It can "
        f"be opened for 30 days:\n{{link}}{_EMAIL_END}",
    ),
    (MessageKind.AFTERCARE, MessageRoute.SMS): Wording(
        "", "{clinic}: what to do now and to look out for: {link}"
    ),
    (MessageKind.CHECK_IN, MessageRoute.EMAIL): Wording(
        "How are you today? {clinic} asks",
        "We would like to know how you are after your visit. Please tell us by this link, which is "
        "yours alone:\n{link}\n\nIf you are in danger, do not wait for us: call the emergency "
        f"services.{_EMAIL_END}",
    ),
    (MessageKind.CHECK_IN, MessageRoute.SMS): Wording(
        "", "{clinic}: how are you today? Tell us: {link}"
    ),
    (MessageKind.QUESTIONS, MessageRoute.EMAIL): Wording(
        _SUBJECT,
        "Before your visit to {clinic} we ask you to answer some questions. The link is yours "
        f"alone:\n{{link}}{_EMAIL_END}",
    ),
    (MessageKind.QUESTIONS, MessageRoute.SMS): Wording(
        "", "{clinic}: please answer some questions before your visit: {link}"
    ),
}


def placeholders_for(kind: MessageKind) -> tuple[Placeholder, ...]:
    """What a text of this kind may leave open."""
    of_a_visit = _OF_A_VISIT if kind.is_of_a_visit else ()
    return (*_ALWAYS, *of_a_visit, *([_LINK] if kind.brings_a_link else []))


def wording_of(kind: MessageKind, route: MessageRoute) -> Wording:
    """The clinic's own words, else ours."""
    own = MessageTemplate.objects.filter(kind=kind, route=route).first()
    return Wording(own.subject, own.text) if own else DEFAULTS[kind, route]


def worded(message: Message, policy: ClinicPolicy) -> Wording:
    """
    Subject and text of `message` by its route, filled but for the link, which stays `{link}`: what
    is kept must not hold it.
    """
    wording = wording_of(MessageKind(message.kind), MessageRoute(message.route))
    place = place_of(message.appointment, policy)
    words = {
        "clinic": policy.name,
        # Blanks stay plain ones: others would make a text message twice as long.
        "phone": place.phone,
        "site": place.site or policy.name,
        "address": ", ".join(filter(None, [place.site, *place.address.splitlines()])),
        LINK: f"{{{LINK}}}",
    }
    if message.starts_at and message.appointment:
        words |= of_a_time(message.starts_at)
        words["practitioner"] = message.appointment.practitioner.full_name
    return Wording(fill(wording.subject, words), fill(wording.text, words))


class Place(NamedTuple):
    """Where a visit is; `site` is its name where the clinic has several, else ""."""

    site: str
    address: str
    phone: str


def place_of(appointment: Appointment | None, policy: ClinicPolicy) -> Place:
    """What its site says of itself, else what the policy does."""
    site = site_of(appointment) if appointment else None
    if site is None:
        return Place("", policy.address, policy.phone)
    name = site.name if Site.objects.in_use().count() > 1 else ""
    return Place(name, site.address or policy.address, site.phone or policy.phone)


def of_a_time(moment: datetime) -> dict[str, str]:
    local = timezone.localtime(moment)
    return {"day": f"{local:%A} {local.day} {local:%B}", "time": f"{local:%H:%M}"}


def with_link(message: Message) -> str:
    """Its text as the patient gets it."""
    link = link_of(message.reference, MessageKind(message.kind))
    return message.text.replace(f"{{{LINK}}}", link)


def link_of(reference: str, kind: MessageKind = MessageKind.CONFIRMATION) -> str:
    path = reverse(kind.page, kwargs={"token": token_of(reference)})
    return f"{settings.PUBLIC_URL}{path}"


def example_words(kind: MessageKind, policy: ClinicPolicy) -> dict[str, str]:
    """What the placeholders stand for in a preview."""
    words = {word.name: word.example for word in placeholders_for(kind)}
    own = {"clinic": policy.name, "phone": policy.phone, "address": policy.address}
    words |= {name: " ".join(text.split()) for name, text in own.items() if text}
    if LINK in words:
        words[LINK] = link_of("0" * 32, kind)
    return words
