"""Writing to the people of a case, and what the case notes of it."""

from collections.abc import Sequence

from django.urls import reverse
from django.utils import timezone

from clinic.audit.services import Trail, acting
from records.mailings.enums import MailingChannel, MailingState
from records.mailings.models import Mailing, MailingItem, MailTemplate
from records.mailings.occasions import Occasion
from records.mailings.services.starting import start_mailing
from records.patients.enums import Channel
from records.recalls.enums import ContactOutcome, Whom
from records.recalls.errors import CaseClosed
from records.recalls.models import CaseContact, CaseMailing, RecallCase
from records.recalls.queries.extent import extent_of
from records.recalls.queries.mailings import RECALL_WORDS, people_with_words, want_no_more
from records.recalls.services.lists import refresh_call_list
from records.recalls.services.locking import lock_open


def start_case_mailing(
    *, case: RecallCase, template: MailTemplate, channel: MailingChannel, whom: Whom, actor
) -> Mailing:
    """
    Start a mailing to people of the case, late ones included; in a drill, the rehearsal of one.

    Raises:
        CaseClosed: nobody is written to any more.
        MailingError: as `start_mailing`.
    """
    with acting(actor) as trail:
        stored = lock_open(case.pk)
        extent = extent_of(stored)
        refresh_call_list(stored, actor=actor, extent=extent)
        mailing = start_mailing(
            channel=channel,
            purpose=str(stored),
            subject=template.subject,
            body=template.body,
            people=people_with_words(stored, extent, whom),
            actor=actor,
            is_rehearsal=stored.is_drill,
        )
        CaseMailing.objects.create(case=stored, mailing=mailing)
        after = {"mailing": mailing.pk, "template": template.name, "channel": channel, "to": whom}
        trail.add("recall.mailing_started", stored, after=after)
    return mailing


def note_contacts(mailing: Mailing, items: Sequence[MailingItem], trail: Trail) -> None:
    """
    A contact for each letter written and each e-mail sent, in the mailing's own transaction.

    None in a rehearsal, and none for an e-mail that became a file. Should the case have been closed
    between the sending of an e-mail and this, the mailing alone tells of it.
    """
    link = CaseMailing.objects.filter(mailing=mailing).first()
    done = MailingState.SENT if mailing.channel == MailingChannel.EMAIL else MailingState.WRITTEN
    told = [item for item in items if item.state == done]
    if link is None or mailing.is_rehearsal or not told:
        return
    try:
        case = lock_open(link.case_id)
    except CaseClosed:
        return
    people = {
        person.patient_id: person
        for person in case.people.filter(patient__in=[item.patient_id for item in told])
    }
    by = trail.actor or mailing.started_by
    channel, now = Channel(mailing.channel), timezone.now()
    CaseContact.objects.bulk_create(
        CaseContact(
            person=people[item.patient_id], channel=channel, outcome=ContactOutcome.SENT, item=item,
            at=now, by=by,
        )
        for item in told
    )  # fmt: skip
    for item in told:
        after = {"channel": channel, "outcome": ContactOutcome.SENT, "at": now}
        trail.add("recall.attempt_noted", case, patient_id=item.patient_id, after=after)


def refusal(mailing: Mailing) -> str:
    """Why nothing more of a case's mailing is written or sent; the case stays locked meanwhile."""
    link = CaseMailing.objects.filter(mailing=mailing).first()
    if link is None:
        return ""
    try:
        lock_open(link.case_id)
    except CaseClosed as error:
        return str(error)
    return ""


def page_of_case(mailing: Mailing) -> str:
    link = CaseMailing.objects.filter(mailing=mailing).first()
    return reverse("recall-detail", kwargs={"pk": link.case_id}) if link else ""


RECALL = Occasion(
    name="In a recall",
    placeholders=RECALL_WORDS,
    refusal=refusal,
    unwanted=want_no_more,
    noted=note_contacts,
    page=page_of_case,
)
