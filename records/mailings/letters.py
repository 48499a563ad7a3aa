"""What a sheet of a letter says, ready for `templates/print/letters.html`."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from django.utils import timezone

from clinic.policy.models import ClinicPolicy
from clinic.printing.documents import document_html
from clinic.printing.letters import unprintable, without
from planning.merging import fill
from records.mailings.models import Mailing, MailingItem
from records.mailings.queries import words_of

WINDOW_LINES, WINDOW_LETTERS = 6, 40
"""How many lines, and letters in each, the window has at full size; more is printed smaller."""


@dataclass(frozen=True)
class Letter:
    """
    One patient's letter.

    Attributes:
        lines: what stands in the window.
        is_small: the address is too long for the window at full size.
        lacks_letters: the fonts do not hold every letter; each place is marked.
    """

    record_number: str
    lines: tuple[str, ...]
    subject: str
    body: str
    lacks_letters: bool

    @property
    def is_small(self) -> bool:
        return sum(ceil(len(line) / WINDOW_LETTERS) for line in self.lines) > WINDOW_LINES


def letter_of(item: MailingItem, policy: ClinicPolicy) -> Letter:
    """The letter of an item, whose mailing and patient are loaded."""
    mailing, patient = item.mailing, item.patient
    words = words_of(item, policy)
    recipient = (policy.name, policy.address)
    if not mailing.is_rehearsal:
        recipient = (patient.full_name, patient.address)
    texts = ["\n".join(recipient), fill(mailing.subject, words), fill(mailing.body, words)]
    missing = unprintable("".join(texts))
    window, subject, body = (without(missing, text) for text in texts)
    lines = tuple(line.strip() for line in window.splitlines() if line.strip())
    return Letter(patient.record_number, lines, subject, body, bool(missing))


def letters_html(mailing: Mailing, letters: Sequence[Letter], policy: ClinicPolicy) -> str:
    """The letters one after another, each on a sheet of its own, as the HTML that is printed."""
    context = {
        "mailing": mailing,
        "letters": letters,
        "policy": policy,
        "written_on": timezone.localdate(mailing.started_at),
    }
    return document_html("print/letters.html", context)
