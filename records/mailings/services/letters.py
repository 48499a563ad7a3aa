"""Writing letters: one file of them at a time, each letter exactly once."""

import hashlib
from dataclasses import dataclass

from django.utils import timezone

from clinic.audit.services import acting
from clinic.policy.models import ClinicPolicy
from clinic.policy.queries import current_policy
from clinic.printing.pdf import render_pdf
from records.mailings.enums import MailingState
from records.mailings.letters import letter_of, letters_html
from records.mailings.models import LetterBatch, Mailing, MailingItem
from records.mailings.occasions import check_may_go_on, unwanted
from records.mailings.services.ending import close_or_reopen, locked, note_done
from records.mailings.services.starting import no_address

LETTERS_LACKING = "Some letters of the text cannot be printed; each place is marked [?]."


@dataclass
class _File:
    """A file of letters before it is stored. `pdf` is empty when nobody is left to write to."""

    number: int
    items: list[MailingItem]
    left_out: list[MailingItem]
    pdf: bytes = b""


def write_letters(*, mailing: Mailing, actor) -> None:
    """
    Write the next file of letters, with its letters' states, in one transaction.

    Rendering takes a second and happens before it. Whoever comes second, or comes again after the
    first was cut off, finds the letters waiting or written as a whole: a letter is in exactly one
    file.

    Raises:
        MailingError: what the mailing is about is over.
    """
    found = _next_file(mailing, current_policy())
    if found is None:
        return
    with acting(actor) as trail:
        held = locked(mailing)
        check_may_go_on(held)
        if not _is_still_as_rendered(held, found):
            return
        now = timezone.now()
        for item in found.left_out:
            item.state, item.at = MailingState.LEFT_OUT, now
        for item in found.items:
            item.state, item.at = MailingState.WRITTEN, now
        MailingItem.objects.bulk_update(
            [*found.items, *found.left_out], ["state", "at", "problem"], batch_size=100
        )
        if found.items:
            file = LetterBatch.objects.create(
                mailing=held, number=found.number, letters=len(found.items), pdf=found.pdf,
                digest=hashlib.sha256(found.pdf).hexdigest(), written_at=now,
            )  # fmt: skip
            after = {"number": file.number, "letters": file.letters, "digest": file.digest}
            trail.add("mailing.file_written", file, after=after)
            note_done(held, found.items, trail)
        close_or_reopen(held)


def _next_file(mailing: Mailing, policy: ClinicPolicy) -> _File | None:
    """
    The first file that waits, rendered. Since the start somebody's address may have gone, or a
    patient may have said that no letter is wanted.
    """
    waiting = mailing.items.filter(state=MailingState.WAITING).select_related("patient")
    first = waiting.first()
    if first is None or first.batch is None:
        return None
    file = _File(first.batch, [], [])
    of_file = list(waiting.filter(batch=first.batch))
    refused = unwanted(mailing, [item.patient_id for item in of_file])
    letters = []
    for item in of_file:
        item.mailing = mailing
        item.problem = refused.get(item.patient_id) or no_address(mailing, item.patient)
        if item.problem:
            file.left_out.append(item)
            continue
        letter = letter_of(item, policy)
        item.problem = LETTERS_LACKING if letter.lacks_letters else ""
        file.items.append(item)
        letters.append(letter)
    if letters:
        file.pdf = render_pdf(letters_html(mailing, letters, policy))
    return file


def _is_still_as_rendered(mailing: Mailing, file: _File) -> bool:
    """Nobody else wrote it, and none of its letters became unwanted meanwhile."""
    waiting = mailing.items.filter(state=MailingState.WAITING, batch=file.number)
    rendered = {item.pk for item in [*file.items, *file.left_out]}
    if set(waiting.values_list("pk", flat=True)) != rendered:
        return False
    return not unwanted(mailing, [item.patient_id for item in file.items])
