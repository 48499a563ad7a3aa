"""What every step of a mailing ends with."""

from collections.abc import Sequence

from django.utils import timezone

from clinic.audit.services import Trail
from records.mailings.enums import MailingState
from records.mailings.models import Mailing, MailingItem
from records.mailings.occasions import note

_STILL_TO_COME = [MailingState.WAITING, MailingState.SENDING]


def locked(mailing: Mailing) -> Mailing:
    """The mailing's row, which every act on its items takes first."""
    return Mailing.objects.select_for_update(no_key=True).get(pk=mailing.pk)


def note_done(mailing: Mailing, items: Sequence[MailingItem], trail: Trail) -> None:
    """Items that were just written or sent: in the audit trail, and to whoever started them."""
    for item in items:
        trail.add(f"mailing.{item.state}", item, patient_id=item.patient_id)
    note(mailing, items, trail)


def close_or_reopen(mailing: Mailing) -> None:
    """Whether anything is still to come; `mailing` is locked."""
    is_over = not mailing.items.filter(state__in=_STILL_TO_COME).exists()
    if is_over != (mailing.finished_at is not None):
        mailing.finished_at = timezone.now() if is_over else None
        mailing.save(update_fields=["finished_at"])
