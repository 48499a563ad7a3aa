"""What an e-mail about a visit brings along."""

from records.reminders.models import Message

Attachment = tuple[str, bytes, str]
"""Name of the file, content, media type."""


def attachments_of(message: Message) -> list[Attachment]:
    """Nothing yet; the visit as a calendar file belongs here."""
    return []
