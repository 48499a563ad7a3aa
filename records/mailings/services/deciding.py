"""What a person decides about an e-mail that failed, or of which nobody knows whether it left."""

from django.utils import timezone

from clinic.audit.services import Trail, acting
from records.mailings.enums import MailingState
from records.mailings.errors import MailingError
from records.mailings.models import Mailing, MailingItem
from records.mailings.queries import is_unclear
from records.mailings.services.ending import close_or_reopen, locked, note_done


def try_again(*, item: MailingItem, actor) -> None:
    """
    Let a failed or unclear e-mail wait anew. An unclear one may then arrive twice.

    Raises:
        MailingError: there is nothing to decide about it.
    """
    with acting(actor) as trail:
        mailing = locked(item.mailing)
        _let_wait(_to_decide(item), trail)
        close_or_reopen(mailing)


def try_failed_again(*, mailing: Mailing, actor) -> int:
    """Let every failed e-mail of a mailing wait anew; how many there were."""
    with acting(actor) as trail:
        held = locked(mailing)
        failed = list(held.items.filter(state=MailingState.FAILED))
        for item in failed:
            _let_wait(item, trail)
        close_or_reopen(held)
    return len(failed)


def take_as_sent(*, item: MailingItem, actor) -> None:
    """
    Somebody has found out that an unclear e-mail did leave.

    Raises:
        MailingError: it is not unclear.
    """
    with acting(actor) as trail:
        mailing = locked(item.mailing)
        stored = _to_decide(item)
        if stored.state == MailingState.FAILED:
            raise MailingError("The mail server refused this e-mail, so it was not sent.")
        stored.state, stored.at, stored.problem = MailingState.SENT, timezone.now(), ""
        stored.save(update_fields=["state", "at", "problem"])
        note_done(mailing, [stored], trail)
        close_or_reopen(mailing)


def _let_wait(item: MailingItem, trail: Trail) -> None:
    before = item.state
    item.state, item.problem = MailingState.WAITING, ""
    item.save(update_fields=["state", "problem"])
    trail.add(
        "mailing.try_again", item, patient_id=item.patient_id,
        before={"state": before}, after={"state": item.state},
    )  # fmt: skip


def _to_decide(item: MailingItem) -> MailingItem:
    stored = MailingItem.objects.select_related("patient").get(pk=item.pk)
    if stored.state == MailingState.FAILED or is_unclear(stored):
        return stored
    raise MailingError(
        f"There is nothing to decide here any more: {stored.get_state_display().lower()}."
    )
