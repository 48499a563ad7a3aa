"""Taking an opening stock list into the books, once."""

import hashlib
import json

from django.utils import timezone

from clinic.receiving.errors import LineRefused, ListRefused
from clinic.receiving.models import Receipt
from clinic.receiving.services.deliveries import receive_once
from clinic.receiving.services.list_checks import CheckedList, check_list

REASON = "Opening stock list"


def receive_list(*, text: str, digest: str, actor) -> tuple[Receipt, bool]:
    """
    Take in all rows of a list in one transaction; what was taken in before is not taken in again.

    Args:
        digest: of the list as it was shown to whoever says yes, from `digest_of`.

    Returns:
        The receipt, and whether the units were received now.

    Raises:
        ListRefused: a row is wrong, or what the list brings is no longer what was shown; nothing
            was received.
        CsvError: it cannot be read at all.
    """
    if receipt := Receipt.objects.filter(key=digest).first():
        return receipt, False
    checked = check_list(text, today=timezone.localdate())
    if not checked.is_ready:
        raise ListRefused("Nothing was received: some rows are to be corrected first.")
    if digest_of(checked) != digest:
        raise ListRefused("Nothing was received: this is not the list that was shown. Look again.")
    lines = [line for _, line in checked.lines]
    try:
        return receive_once(key=digest, lines=lines, actor=actor, reason=REASON)
    except LineRefused as error:
        row = checked.lines[error.index][0]
        raise ListRefused(f"Nothing was received. Row {row}: {error}") from error


def digest_of(checked: CheckedList) -> str:
    """SHA-256 of what the rows mean, however they are written."""
    rows = [
        [
            line.product.pk,
            line.number,
            line.expires_on.isoformat(),
            line.quantity,
            line.place and line.place.pk,
            *line.serials,
            line.received_on and line.received_on.isoformat(),
        ]
        for _, line in checked.lines
    ]
    return hashlib.sha256(json.dumps(rows, separators=(",", ":")).encode()).hexdigest()
