"""
Writing the audit trail, in the same transaction as what it tells of.

    with acting(user) as trail:
        lot.save()
        trail.add("lot.quarantined", lot, after={"reason": reason})

The events are written when the block ends, so that the lock on the chain's end, where all writers
meet, is taken last and held shortly. A block inside a block of the same actor adds to the outer
trail; when it fails, only its own events go.
"""

import json
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any

from django.core.serializers.json import DjangoJSONEncoder
from django.db import models, transaction
from django.utils import timezone

from clinic.audit.chain import GENESIS, chained_digest
from clinic.audit.models import AuditEvent, AuditHead


class Trail:
    """Collects what happens inside one `acting` block."""

    def __init__(self, actor, *, as_one: bool = False) -> None:
        self.actor = actor
        self._events: list[AuditEvent] = []
        self._is_one, self._has_failed = as_one, False
        self._connection = transaction.get_connection()

    def add(
        self,
        action: str,
        subject: models.Model,
        *,
        patient_id: int | None = None,
        before: dict[str, Any] | None = None,
        after: dict[str, Any] | None = None,
        reason: str = "",
    ) -> None:
        """Note one act. `before` and `after` hold the fields that changed."""
        details = {"before": before, "after": after, "reason": reason}
        self._events.append(
            AuditEvent(
                at=timezone.now(),
                actor=self.actor,
                action=action,
                subject_type=str(subject._meta.model_name),
                subject_id=str(subject.pk),
                patient_id=patient_id,
                data=_canonical({key: value for key, value in details.items() if value}),
            )
        )

    def write(self) -> None:
        """Append the collected events to the chain."""
        self._refuse_failed()
        if self._events:
            _append(self._events)
            self._events = []

    @contextmanager
    def part(self, *, as_one: bool = False) -> Iterator["Trail"]:
        """
        A savepoint in this trail's transaction: what it noted goes with it if it fails.

        Args:
            as_one: it stands or falls with every part inside it, which need no savepoints then. One
                of those that fails must not be passed over: that is a RuntimeError at the end.
        """
        if self._is_one:
            with self._inside():
                yield self
            return
        noted = len(self._events)
        self._is_one = as_one
        try:
            with transaction.atomic():
                yield self
                self._refuse_failed()
        except BaseException:
            del self._events[noted:]
            raise
        finally:
            self._is_one = self._has_failed = False

    @contextmanager
    def _inside(self) -> Iterator[None]:
        try:
            yield
        except BaseException:
            self._has_failed = True
            raise

    def _refuse_failed(self) -> None:
        if self._has_failed:
            raise RuntimeError("A part of an act failed, and the act went on.")

    def goes_on_for(self, actor) -> bool:
        """Whether `actor` acts here already, in this thread's transaction."""
        is_same = (self.actor and self.actor.pk) == (actor and actor.pk)
        connection = transaction.get_connection()
        return is_same and self._connection is connection and connection.in_atomic_block


# The trail of the block that is being run; a thread starts without one.
_running: ContextVar[Trail | None] = ContextVar("running_trail", default=None)


@contextmanager
def acting(actor, *, as_one: bool = False) -> Iterator[Trail]:
    """
    One transaction and the trail of what `actor` does in it (None: a command).

    Args:
        as_one: it stands or falls with every block inside it, as in `Trail.part`.
    """
    outer = _running.get()
    if outer is not None and outer.goes_on_for(actor):
        with outer.part(as_one=as_one):
            yield outer
        return
    with transaction.atomic():
        trail = Trail(actor, as_one=as_one)
        token = _running.set(trail)
        try:
            yield trail
        finally:
            _running.reset(token)
        trail.write()


def record_read(
    actor, subject: models.Model, *, patient_id: int | None = None, action: str = "read"
) -> None:
    """Note that `actor` opened, printed or exported `subject`."""
    with acting(actor) as trail:
        trail.add(action, subject, patient_id=patient_id)


def snapshot(instance: models.Model, fields: Sequence[str]) -> dict[str, Any]:
    """The named fields as they are now, for `before` and `after` (foreign keys as ids)."""
    columns = {field.name: field.attname for field in instance._meta.concrete_fields}
    return {name: getattr(instance, columns[name]) for name in fields}


def changes(before: dict[str, Any], after: dict[str, Any]) -> tuple[dict, dict]:
    """Both snapshots reduced to the fields that differ."""
    names = [name for name in after if before.get(name) != after[name]]
    return {name: before.get(name) for name in names}, {name: after[name] for name in names}


def _canonical(details: dict[str, Any]) -> str:
    return json.dumps(
        details, cls=DjangoJSONEncoder, ensure_ascii=False, sort_keys=True, separators=(",", ":")
    )


def _append(events: list[AuditEvent]) -> None:
    locked = AuditHead.objects.select_for_update().filter(id=1)
    head = locked.first()
    if head is None:
        AuditHead.objects.get_or_create(id=1, defaults={"digest": GENESIS})
        head = locked.get()
    for event in events:
        head.count += 1
        event.id = head.count
        event.previous_digest = head.digest
        event.digest = head.digest = chained_digest(head.digest, event.text)
    AuditEvent.objects.bulk_create(events)
    head.save(update_fields=["count", "digest"])
