"""What an e-mail about a visit brings along: the visit for the patient's own calendar."""

from records.calendars.services.entries import Attachment, attachment_for
from records.reminders.enums import MessageKind
from records.reminders.models import Message

# A reminder tells nothing that the calendar does not know.
_CHANGES_THE_CALENDAR = {MessageKind.CONFIRMATION, MessageKind.CHANGED, MessageKind.CANCELLED}


def attachments_of(message: Message) -> list[Attachment]:
    """The same to the byte for each try of a message, as long as the visit does not change."""
    if message.appointment is None or message.kind not in _CHANGES_THE_CALENDAR:
        return []
    file = attachment_for(message.appointment)
    return [file] if file else []
