"""Starting a mailing: everybody's place in it, in bulk."""

from collections.abc import Iterable, Iterator
from itertools import islice

from django.utils import timezone

from clinic.audit.services import acting
from clinic.policy.models import ClinicPolicy
from clinic.policy.queries import current_policy
from planning.merging import MergeError, check_subject, placeholders
from records.mailings.enums import MailingChannel, MailingState
from records.mailings.errors import MailingError, NoSender
from records.mailings.models import Mailing, MailingItem
from records.mailings.occasions import COMMON, all_placeholders
from records.patients.models import Patient

LETTERS_IN_A_FILE = 50
"""Written in about a second; a person can fold and check so many at a time."""
ROWS_AT_ONCE = 500

Person = tuple[Patient, dict[str, str]]


def start_mailing(
    *,
    channel: MailingChannel,
    purpose: str,
    subject: str,
    body: str,
    people: Iterable[Person],
    actor,
    is_rehearsal: bool = False,
) -> Mailing:
    """
    Put everybody on the list of a new mailing; nothing is written or sent yet.

    Args:
        people: each patient once, with the words for the placeholders beyond the common ones.
        is_rehearsal: letters are printed without an address, and e-mails are not sent.

    Raises:
        MailingError: nobody is on the list, or somebody twice; a word is missing that the text asks
            for.
        NoSender: e-mails, and the policy holds no e-mail address of the clinic.
    """
    policy = current_policy()
    _check(channel, subject, body, policy)
    needed = set(placeholders(f"{subject}\n{body}")) - {word.name for word in COMMON}
    with acting(actor) as trail:
        mailing = Mailing.objects.create(
            channel=channel, purpose=purpose, subject=subject, body=body,
            is_rehearsal=is_rehearsal, started_at=timezone.now(), started_by=actor,
        )  # fmt: skip
        rows = _items(mailing, people, needed)
        counted = dict.fromkeys(("people", "left_out"), 0)
        while chunk := list(islice(rows, ROWS_AT_ONCE)):
            MailingItem.objects.bulk_create(chunk)
            counted["people"] += len(chunk)
            counted["left_out"] += sum(row.state == MailingState.LEFT_OUT for row in chunk)
        if not counted["people"]:
            raise MailingError("Nobody is on the list, so there is nothing to write.")
        told = {"channel": channel, "purpose": purpose, "is_rehearsal": is_rehearsal}
        trail.add("mailing.started", mailing, after=told | counted)
    return mailing


def _check(channel: MailingChannel, subject: str, body: str, policy: ClinicPolicy) -> None:
    try:
        check_subject(subject, all_placeholders())
    except MergeError as error:
        raise MailingError(str(error)) from error
    if channel == MailingChannel.EMAIL and not policy.email:
        raise NoSender(
            "The clinic has no e-mail address to send from. Enter one under Policy, or write "
            "letters."
        )
    if not policy.phone and "phone" in placeholders(body):
        raise MailingError("The text gives the clinic's telephone: enter one under Policy first.")


def _items(mailing: Mailing, people: Iterable[Person], needed: set[str]) -> Iterator[MailingItem]:
    """The rows in their order; letters are dealt into files of 50."""
    seen: set[int] = set()
    letters = 0
    for position, (patient, words) in enumerate(people, start=1):
        if patient.pk in seen:
            raise MailingError(f"{patient.record_number} is on the list twice.")
        if missing := needed - words.keys():
            raise MailingError(
                f"For {patient.record_number} there is no word for {{{min(missing)}}}. Take it out "
                "of the text, or choose another template."
            )
        seen.add(patient.pk)
        item = MailingItem(mailing=mailing, patient=patient, words=words, position=position)
        if problem := no_address(mailing, patient):
            item.state, item.problem = MailingState.LEFT_OUT, problem
        elif mailing.channel == MailingChannel.LETTER:
            item.batch = letters // LETTERS_IN_A_FILE + 1
            letters += 1
        yield item


def no_address(mailing: Mailing, patient: Patient) -> str:
    """Why this patient cannot be written to; "" if they can."""
    if mailing.channel == MailingChannel.LETTER:
        return "" if patient.address.strip() else "No postal address is noted."
    return "" if patient.email else "No e-mail address is noted."
