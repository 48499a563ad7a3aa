"""What the owner decides about messages."""

from django.utils import timezone

from clinic.audit.services import acting, changes, snapshot
from clinic.policy.queries import current_policy
from planning.merging import MergeError, check_body, check_subject, has_half_braces, placeholders
from records.reminders.enums import MessageKind, MessageRoute
from records.reminders.errors import ReminderError
from records.reminders.models import MessageTemplate, ReminderPolicy
from records.reminders.services.reconciling import take_as_known
from records.reminders.wording import LINK, placeholders_for

POLICY_FIELDS = ["is_on", "confirms", "reminds", "hours_before", "checks_in"]
TEMPLATE_FIELDS = ["subject", "text"]


def save_reminder_policy(*, policy: ReminderPolicy, actor) -> ReminderPolicy:
    """
    Store the one row. From when on confirmations are sent, every visit booked by then is known.

    Raises:
        ReminderError: turned on while the policy holds no telephone or e-mail address.
    """
    with acting(actor) as trail:
        stored = ReminderPolicy.objects.select_for_update().filter(pk=1).first()
        before = snapshot(stored or ReminderPolicy(), POLICY_FIELDS)
        if policy.is_on and not before["is_on"]:
            clinic = current_policy()
            if not (clinic.phone and clinic.email):
                raise ReminderError(
                    "Messages give the clinic's telephone and come from its e-mail address: enter "
                    "both under Policy first."
                )
        if policy.is_on and policy.confirms and not (before["is_on"] and before["confirms"]):
            take_as_known(timezone.now())
        policy.pk = 1
        policy.save()
        before, after = changes(before, snapshot(policy, POLICY_FIELDS))
        if after:
            trail.add("reminder_policy.changed", policy, before=before, after=after)
    return policy


def check_wording(kind: MessageKind, route: MessageRoute, subject: str, text: str) -> None:
    """
    Raises:
        MergeError: a placeholder that this kind does not know, or one that a subject may not hold;
            braces that hold none; an e-mail without a subject.
    """
    known = placeholders_for(kind)
    if route == MessageRoute.EMAIL:
        if not subject.strip():
            raise MergeError("An e-mail needs a subject.")
        check_subject(subject, [word for word in known if word.name != LINK])
    check_body(text, known)
    if has_half_braces(subject + text):
        raise MergeError(f"A brace stands alone. Write such as {{{known[0].name}}}, or none.")


def leaves_out_link(kind: MessageKind, text: str) -> bool:
    """Whether the text goes without the link that the patient needs."""
    return kind.brings_a_link and LINK not in placeholders(text)


def save_template(
    *, kind: MessageKind, route: MessageRoute, subject: str, text: str, actor
) -> None:
    """
    Store the clinic's own words. Messages that were sent keep the ones they went with.

    Raises:
        ReminderError: as `check_wording`.
    """
    try:
        check_wording(kind, route, subject, text)
    except MergeError as error:
        raise ReminderError(str(error)) from error
    with acting(actor) as trail:
        locked = MessageTemplate.objects.select_for_update()
        stored = locked.filter(kind=kind, route=route).first()
        before = snapshot(stored, TEMPLATE_FIELDS) if stored else {}
        template = stored or MessageTemplate(kind=kind, route=route)
        template.subject, template.text = subject, text
        template.save()
        before, after = changes(before, snapshot(template, TEMPLATE_FIELDS))
        if after:
            trail.add("message_template.saved", template, before=before, after=after)


def drop_template(*, kind: MessageKind, route: MessageRoute, actor) -> None:
    """Back to the words that come with the program; the trail keeps the clinic's own."""
    with acting(actor) as trail:
        for stored in MessageTemplate.objects.filter(kind=kind, route=route):
            trail.add("message_template.dropped", stored, before=snapshot(stored, TEMPLATE_FIELDS))
            stored.delete()
