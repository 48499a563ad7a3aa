"""Whether an operation builds on what the record has."""

from django.utils import timezone

from records.charting.enums import Outcome
from records.charting.errors import DROP, Choice, Conflict, Hold
from records.charting.models import Operation
from records.charting.services.operations import Act

WAITS = "Something it builds on has not arrived yet."


def known_base(act: Act) -> Operation | None:
    """
    The operation it builds on; None for the first on its thing.

    Raises:
        Hold: that one is not stored yet.
    """
    if act.op.base is None:
        return None
    base = act.batch.known.get(act.op.base)
    if base is None:
        raise Hold(WAITS)
    return base


def check_given_up(act: Act, here: str) -> None:
    """
    Refuse to add once more what was stored after all before a person gave it up for this.

    For acts that only add; one on a thing meets the thing's head instead.
    """
    first = act.op.instead_of and act.batch.known.get(act.op.instead_of)
    if first and first.outcome == Outcome.APPLIED:
        there = "What it takes the place of was stored after all."
        choices = [Choice("again", "Record this as well"), DROP]
        raise Conflict("session", here, there, choices)


def check_thing(act: Act, thing, about: str, here: str, there: str) -> None:
    """
    Refuse to write over what another tablet did to a point, marking or photograph meanwhile.

    Args:
        about: "point" or "session", for the conflict.
        here: what this tablet did, `there` what the record has, as sentences.
    """
    base = known_base(act)
    if thing.head == act.op.base or thing.head is None:
        return
    head = act.batch.known.get(thing.head) or Operation.objects.filter(id=thing.head).first()
    if base is not None and base.outcome == Outcome.WITHDRAWN and _is_own(act, head):
        return
    choices = [Choice("again", "Do it all the same"), DROP]
    raise Conflict(about, here, f"{there} {changed_by(head)}".strip(), choices)


def _is_own(act: Act, head: Operation | None) -> bool:
    return head is not None and head.device == act.batch.device


def changed_by(head: Operation | None) -> str:
    """ "Changed by Ida Injector at 10:12 on another tablet." """
    if head is None:
        return ""
    at = timezone.localtime(head.received_at)
    return f"Changed by {head.author} at {at:%H:%M} on another tablet."
