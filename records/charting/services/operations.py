"""An operation as it was sent, what came of it, and the batch it came in."""

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID

from clinic.staff.models import User
from records.charting.enums import Outcome
from records.charting.models import Operation
from records.sessions.models import TreatmentSession


@dataclass(frozen=True)
class SentOperation:
    """
    One act as a tablet tells it.

    Attributes:
        base: the operation before it on the same thing, as the tablet knew it; None for the first.
        instead_of: the operation that a person gave up for this one.
        made_at: by the tablet's clock.
        data: clean values, unless `problem` says what is wrong with them.
    """

    id: UUID
    session: UUID
    kind: str
    base: UUID | None
    made_at: datetime
    sequence: int
    author: int
    handed_over: bool
    data: dict[str, Any]
    problem: str
    body_digest: str
    instead_of: UUID | None = None


@dataclass(frozen=True)
class Result:
    """What came of one operation; `conflict` as in `records.charting.errors`."""

    id: UUID
    outcome: Outcome
    message: str = ""
    conflict: dict | None = None


@dataclass
class Batch:
    """
    The operations of one request, inside one transaction.

    Attributes:
        sender: who is signed in.
        skew: how far the clinic's clock is ahead of the tablet's.
        is_hopeful: nothing in it is expected to fail; if something does, it is run again.
        is_last_try: what does not fit is refused, and the batch is not run again.
        sessions: those named, by key.
        locked: numbers of the sessions that were read behind their rows' locks.
        known: operations stored before or in this batch, by id.
        new: rows to be stored at the end.
        unsettled_units: (session, unit) whose opening in this batch was not applied.
    """

    sender: User
    device: UUID
    skew: timedelta
    now: datetime
    is_hopeful: bool = False
    is_last_try: bool = True
    sessions: dict[UUID, TreatmentSession] = field(default_factory=dict)
    locked: set[int] = field(default_factory=set)
    authors: dict[int, User] = field(default_factory=dict)
    known: dict[UUID, Operation] = field(default_factory=dict)
    new: list[Operation] = field(default_factory=list)
    unsettled_units: set[tuple[UUID, int]] = field(default_factory=set)

    @property
    def skew_ms(self) -> int:
        return self.skew // timedelta(milliseconds=1)


@dataclass(frozen=True)
class Act:
    """One operation about to be applied to its session."""

    op: SentOperation
    batch: Batch
    author: User
    session: TreatmentSession

    @property
    def sender(self) -> User:
        return self.batch.sender

    @property
    def is_locked(self) -> bool:
        """Whether its session was read behind the row's lock."""
        return self.session.pk in self.batch.locked

    @property
    def made_at(self) -> datetime:
        """When it was done by the clinic's clock, as far as the tablet's can be trusted."""
        return (self.op.made_at + self.batch.skew).astimezone(UTC)

    @property
    def moment(self) -> datetime:
        """`made_at`, but never after now and never before the session."""
        return min(max(self.made_at, self.session.started_at), self.batch.now)
