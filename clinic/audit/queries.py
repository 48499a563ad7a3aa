"""Verifying the audit trail."""

from dataclasses import dataclass

from clinic.audit.chain import GENESIS, chained_digest
from clinic.audit.models import AuditEvent, AuditHead


@dataclass(frozen=True)
class Verdict:
    """
    What a check of the chain found.

    Attributes:
        checked: number of rows read.
        broken_at: position of the first row that does not fit; None when the chain is intact.
        reason: one sentence about that row.
        digest: the chain's last digest, to be compared with the one kept elsewhere.
    """

    checked: int
    broken_at: int | None
    reason: str
    digest: str

    @property
    def intact(self) -> bool:
        return self.broken_at is None


def verify_chain() -> Verdict:
    """Recompute every digest in order, in constant memory, and compare with the chain's end."""
    position, digest = 0, GENESIS
    for event in AuditEvent.objects.order_by("id").iterator(chunk_size=5_000):
        reason = _fault(event, position + 1, digest)
        if reason:
            return Verdict(position, event.id, reason, digest)
        position, digest = event.id, event.digest
    head = AuditHead.objects.filter(id=1).first()
    expected = (head.count, head.digest) if head else (0, GENESIS)
    if (position, digest) != expected:
        reason = f"the trail ends at row {position}, but {expected[0]} rows were written"
        return Verdict(position, position + 1, reason, digest)
    return Verdict(position, None, "", digest)


def _fault(event: AuditEvent, position: int, previous_digest: str) -> str:
    if event.id != position:
        return f"row {position} is missing"
    if event.previous_digest != previous_digest:
        return "it does not follow from the row before it"
    if event.digest != chained_digest(previous_digest, event.text):
        return "its content does not match its digest"
    return ""
