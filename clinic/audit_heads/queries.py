"""
Whether today's chain goes on from heads that were printed or mailed.

A chain that somebody computed anew from the first changed entry on is intact by itself. A digest
kept where they cannot reach it no longer occurs in it, since each digest covers all entries up to
its own (SHA-256, `clinic.audit.chain`).
"""

import re
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import Q

from clinic.audit.models import AuditEvent
from clinic.audit.queries import Verdict, verify_chain
from clinic.audit_heads.models import DailyHead
from clinic.database.moments import moment_at
from planning.review_dates import day_in_words

# An entry is stamped a little before it is stored.
SLACK = timedelta(minutes=10)
_LINE = re.compile(r"(\d{4}-\d{2}-\d{2})\s+(\d{1,18})\s+([0-9a-f]{64})")


@dataclass(frozen=True, slots=True)
class KeptHead:
    """A head as it stands on paper; `count` where the number of entries was noted too."""

    day: date
    digest: str
    count: int | None = None

    def __str__(self) -> str:
        return f"the head of {day_in_words(self.day)}"


@dataclass(frozen=True, slots=True)
class Checked:
    """
    Attributes:
        position: of the entry that carries the digest; None where none does.
        problem: "" where the head stands.
    """

    head: KeptHead
    position: int | None
    problem: str = ""


@dataclass(frozen=True, slots=True)
class Proof:
    """The chain by itself, and each kept head against it, the oldest first."""

    verdict: Verdict
    heads: tuple[Checked, ...]

    @property
    def holds(self) -> bool:
        return self.verdict.intact and not any(head.problem for head in self.heads)

    @property
    def where(self) -> str:
        """Between which entries the chain breaks, as closely as the heads tell; "" if it holds."""
        if not self.verdict.intact:
            return f"The first entry that does not fit is {self.verdict.broken_at:,}."
        failed = next((one for one in self.heads if one.problem), None)
        if failed is None:
            return ""
        if any(not one.problem and one.head.day > failed.head.day for one in self.heads):
            return "A later head stands, which covers it: compare its digits and its day again."
        standing = (one.position or 0 for one in self.heads if not one.problem)
        last = max(standing, default=0)
        known = f"Entries 1 to {last:,} are as they were. " if last else ""
        count = failed.head.count
        place = f"between {last + 1:,} and {count:,}" if count else f"at {last + 1:,} or after it"
        return f"{known}The first entry that was touched lies {place}."


def prove(heads: Sequence[KeptHead]) -> Proof:
    """One pass over the whole chain, then one query for the times beside the heads."""
    ordered = sorted(heads, key=lambda head: (head.day, head.count or 0))
    verdict = verify_chain(looking_for={head.digest for head in ordered})
    near = {position + step for position in verdict.found.values() for step in (0, 1)}
    within = Q(id__in=near, id__lte=verdict.checked)
    times = dict(AuditEvent.objects.filter(within).values_list("id", "at"))
    return Proof(verdict, tuple(_check(head, verdict, times) for head in ordered))


def _check(head: KeptHead, verdict: Verdict, times: dict[int, datetime]) -> Checked:
    position = verdict.found.get(head.digest)
    if position is None:
        if not verdict.intact:
            return Checked(head, None, "no intact entry carries it")
        return Checked(head, None, "no entry of today's chain carries it")
    if head.count is not None and head.count != position:
        return Checked(head, position, f"it was of {head.count:,} entries and is now {position:,}")
    begins, ends = moment_at(head.day), moment_at(head.day + timedelta(days=1))
    last, following = times.get(position), times.get(position + 1)
    if last is not None and last > ends + SLACK:
        return Checked(head, position, f"entry {position:,} was written after that day")
    if following is not None and following < begins - SLACK:
        return Checked(head, position, f"entry {position + 1:,}, before that day, follows it")
    return Checked(head, position)


def own_heads_say() -> str:
    """
    What the heads that this database holds itself tell of a trail that was rewritten. No proof:
    whoever wrote to the trail could write to them as well.
    """
    kept = DailyHead.objects.order_by("day").values_list("day", "count", "digest")
    digests = dict(
        AuditEvent.objects.filter(id__in=kept.values("count")).values_list("id", "digest")
    )
    for day, count, digest in kept.iterator():
        if count and digests.get(count) != digest:
            return (
                f"Of the heads in this database, that of {day_in_words(day)} ({count:,} entries) "
                "is the first that differs."
            )
    return "The heads in this database were changed with it, or never written."


def problem_of_mail() -> str:
    """Why the newest head did not leave; "" if it did, or is to be mailed to nobody."""
    newest = DailyHead.objects.values_list("problem", flat=True).first()
    return newest or ""


def heads_in(lines: Iterable[str]) -> list[KeptHead]:
    """Every "DAY ENTRIES DIGEST" in a text, such as saved e-mails; other lines are passed over."""
    heads = []
    for line in lines:
        for day, count, digest in _LINE.findall(line):
            with suppress(ValueError):  # digits that are no day
                heads.append(KeptHead(date.fromisoformat(day), digest, int(count)))
    return heads
