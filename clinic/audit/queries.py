"""Reading and verifying the audit trail."""

from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import reduce
from operator import or_

from django.db.models import Model, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce

from clinic.audit.chain import GENESIS, chained_digest
from clinic.audit.models import AuditEvent, AuditHead
from clinic.database.moments import moment_at
from planning.act_kinds import NAMES, ActKind

_RECENT = 2_000


@dataclass(frozen=True)
class Verdict:
    """
    What a check of the chain found.

    Attributes:
        checked: number of rows read.
        broken_at: position of the first row that does not fit; None when the chain is intact.
        reason: one sentence about that row.
        digest: the chain's last digest, to be compared with the one kept elsewhere.
        found: of the digests that were looked for, those of intact rows with their positions.
    """

    checked: int
    broken_at: int | None
    reason: str
    digest: str
    found: dict[str, int] = field(default_factory=dict)

    @property
    def intact(self) -> bool:
        return self.broken_at is None


def verify_chain(*, looking_for: Collection[str] = ()) -> Verdict:
    """
    Recompute every digest in order, in constant memory, and compare with the chain's end.

    The end is read first: what others write meanwhile comes after it and is left for the next
    check, so that a busy clinic raises no false alarm.

    Args:
        looking_for: digests that were kept elsewhere.
    """
    head = AuditHead.objects.filter(id=1).first()
    count, last_digest = (head.count, head.digest) if head else (0, GENESIS)
    position, digest = 0, GENESIS
    found = {GENESIS: 0} if GENESIS in looking_for else {}
    events = AuditEvent.objects.filter(id__lte=count).order_by("id")
    for event in events.iterator(chunk_size=5_000):
        reason = _fault(event, position + 1, digest)
        if reason:
            return Verdict(position, position + 1, reason, digest, found)
        position, digest = event.id, event.digest
        if digest in looking_for:
            found[digest] = position
    if position < count:
        reason = f"the trail ends at row {position}, but {count} rows were written"
        return Verdict(position, position + 1, reason, digest, found)
    if digest != last_digest:
        reason = "its digest is not the one kept for the end"
        return Verdict(position, position, reason, digest, found)
    if _has_rows_past_the_end():
        return Verdict(position, position + 1, "it was slipped in past the end", digest, found)
    return Verdict(position, None, "", digest, found)


def digest_at(position: int) -> str | None:
    """The digest of a row, to be compared with one kept elsewhere; the chain starts at zeros."""
    if position == 0:
        return GENESIS
    return AuditEvent.objects.filter(id=position).values_list("digest", flat=True).first()


def _has_rows_past_the_end() -> bool:
    # One statement, so that it sees the rows and the end as of one moment.
    end = Coalesce(Subquery(AuditHead.objects.filter(id=1).values("count")), 0)
    return AuditEvent.objects.filter(id__gt=end).exists()


def _fault(event: AuditEvent, position: int, previous_digest: str) -> str:
    if event.id != position:
        return f"row {position} is missing"
    if event.previous_digest != previous_digest:
        return "it does not follow from the row before it"
    if event.digest != chained_digest(previous_digest, event.text):
        return "its content does not match its digest"
    return ""


def changes_of(subject: Model) -> QuerySet[AuditEvent]:
    """What was done to one thing, newest first; who only looked at it is left to the trail."""
    events = AuditEvent.objects.filter(
        subject_type=subject._meta.model_name, subject_id=str(subject.pk)
    )
    return events.exclude(data="{}").select_related("actor")


def events_shown(
    *,
    actor_id: int | None = None,
    action: str = "",
    patient_id: int | None = None,
    from_day: date | None = None,
    to_day: date | None = None,
    before: int | None = None,
    kind: ActKind | None = None,
) -> QuerySet[AuditEvent]:
    """
    The trail, newest first.

    Args:
        kind: opened, changed, printed, exported or sent.
        from_day, to_day: both inclusive, as the clinic's clock counts days.
        before: only rows with a smaller position (the next page).
    """
    wanted = {
        "actor_id": actor_id,
        "action": action,
        "patient_id": patient_id,
        "at__gte": moment_at(from_day) if from_day else None,
        "at__lt": moment_at(to_day + timedelta(days=1)) if to_day else None,
        "id__lt": before,
    }
    filters = {name: value for name, value in wanted.items() if value not in (None, "")}
    events = AuditEvent.objects.filter(**filters).select_related("actor")
    return events.filter(of_kind(kind)) if kind else events


def of_kind(kind: ActKind) -> Q:
    """The same as `planning.act_kinds.kind_of`, asked of the database."""
    if kind is ActKind.CHANGED:
        return ~reduce(or_, map(of_kind, NAMES))
    names = NAMES[kind]
    parts = [Q(action__in=sorted(names.whole))]
    parts += [Q(action__startswith=beginning) for beginning in names.beginnings]
    parts += [Q(action__endswith=ending) for ending in names.endings]
    return reduce(or_, parts)


def recent_actions() -> list[str]:
    """Kinds of acts among the last events, for the filter; old ones cost a look at every row."""
    last = AuditEvent.objects.values_list("action", flat=True)[:_RECENT]
    return sorted(set(last))
