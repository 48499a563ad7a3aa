"""Saving the clinic's protocol."""

from collections.abc import Sequence

from django.utils import timezone

from clinic.audit.services import acting
from clinic.database.models import next_numbers
from clinic.protocols.errors import ProtocolMoved
from clinic.protocols.models import Protocol, ProtocolStep
from planning.occlusion_protocol import Step


def save_protocol(*, protocol: Protocol, steps: Sequence[Step], seen: int, actor) -> Protocol:
    """
    Keep it as the next version; the ones before stay as they were.

    Args:
        seen: number of the version that was on the page; 0 for the supplied steps.

    Raises:
        ProtocolMoved: somebody else saved one meanwhile.
        ValueError: no step.
    """
    if not steps:
        raise ValueError("A protocol has at least one step.")
    with acting(actor) as trail:
        (number,) = next_numbers("protocol")
        if number != seen + 1:
            raise ProtocolMoved(
                f"Somebody saved version {number - 1} meanwhile. Look at it, then save yours over "
                "it or leave it."
            )
        protocol.pk, protocol.number = None, number
        protocol.saved_at, protocol.saved_by = timezone.now(), actor
        protocol.save(force_insert=True)
        ProtocolStep.objects.bulk_create(
            ProtocolStep(
                protocol=protocol, position=position, title=step.title, text=step.text,
                source=step.source,
            )
            for position, step in enumerate(steps, start=1)
        )  # fmt: skip
        titles = [step.title for step in steps]
        trail.add("protocol.saved", protocol, after={"number": protocol.number, "steps": titles})
    return protocol
