"""
What a mailing is about belongs to whoever starts it: a capability registers its occasion when the
app is ready, and mailings know no more of it than this.
"""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass

from clinic.audit.services import Trail
from clinic.policy.models import ClinicPolicy
from planning.merging import Placeholder
from records.mailings.errors import MailingError
from records.mailings.models import Mailing, MailingItem

COMMON = (
    Placeholder("name", "the patient's name", "Rosalind van der Zanden"),
    Placeholder("clinic", "the clinic's name, from the policy", "Our clinic", is_private=False),
    Placeholder("phone", "the clinic's telephone", "020 7946 0123", is_private=False),
    Placeholder("date", "the day the mailing was started", "25 November 2026", is_private=False),
)
"""Known in every text, and filled by the mailing itself."""


@dataclass(frozen=True)
class Occasion:
    """
    Attributes:
        name: as in "In a recall" beside the placeholders.
        placeholders: filled with the words that come with each patient.
        refusal: why nothing more of a mailing may be written or sent, or ""; asked in the
            transaction, before each file of letters and each e-mail.
        unwanted: which of these patients want no copy any more, by their id, and why; asked in the
            transaction, before each file of letters and each e-mail.
        noted: called with the items that were just written or sent, in the same transaction.
        page: address of the page a mailing belongs to; "" if it is not of this occasion.
    """

    name: str
    placeholders: tuple[Placeholder, ...] = ()
    refusal: Callable[[Mailing], str] = lambda mailing: ""
    unwanted: Callable[[Mailing, Collection[int]], dict[int, str]] = lambda mailing, patients: {}
    noted: Callable[[Mailing, Sequence[MailingItem], Trail], None] = lambda *told: None
    page: Callable[[Mailing], str] = lambda mailing: ""


_registered: dict[str, Occasion] = {}


def register(occasion: Occasion) -> None:
    _registered[occasion.name] = occasion


def occasions() -> list[Occasion]:
    return list(_registered.values())


def all_placeholders() -> tuple[Placeholder, ...]:
    """What a template may leave open: the common ones, then those of each occasion, each once."""
    known = {word.name: word for word in COMMON}
    for occasion in occasions():
        known |= {word.name: word for word in occasion.placeholders if word.name not in known}
    return tuple(known.values())


def check_may_go_on(mailing: Mailing) -> None:
    """
    Raises:
        MailingError: what the mailing is about is over.
    """
    for occasion in occasions():
        if refusal := occasion.refusal(mailing):
            raise MailingError(refusal)


def unwanted(mailing: Mailing, patients: Collection[int]) -> dict[int, str]:
    """Who of the list wants no copy any more, by the patient's id, and why."""
    return {
        patient: why
        for occasion in occasions()
        for patient, why in occasion.unwanted(mailing, patients).items()
    }


def note(mailing: Mailing, items: Sequence[MailingItem], trail: Trail) -> None:
    """Let every occasion note what was written or sent; one that it does not concern passes."""
    for occasion in occasions():
        occasion.noted(mailing, items, trail)


def page_of(mailing: Mailing) -> str:
    """Address of the page that the mailing belongs to, or ""."""
    return next(filter(None, (occasion.page(mailing) for occasion in occasions())), "")


def example_words(policy: ClinicPolicy) -> dict[str, str]:
    """Words of an invented person, for a preview; the clinic's are its own."""
    words = {word.name: word.example for word in all_placeholders()}
    return words | {"clinic": policy.name, "phone": policy.phone or words["phone"]}
