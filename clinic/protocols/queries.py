"""The protocol that holds now."""

from dataclasses import dataclass

from clinic.protocols.models import Protocol
from planning.occlusion_protocol import SUPPLIED_STEPS, Step


@dataclass(frozen=True)
class Current:
    """`stored` is unsaved while the clinic has saved none: then the supplied steps hold."""

    stored: Protocol
    steps: tuple[Step, ...]

    @property
    def is_supplied(self) -> bool:
        return self.stored.pk is None

    @property
    def version(self) -> str:
        return "Supplied steps" if self.is_supplied else str(self.stored)


def current_protocol() -> Current:
    """The last version that was saved, or the supplied steps."""
    stored = Protocol.objects.select_related("saved_by").first()
    return of_version(stored) if stored else Current(Protocol(number=0), SUPPLIED_STEPS)


def of_version(stored: Protocol) -> Current:
    steps = stored.steps.all()
    return Current(stored, tuple(Step(row.title, row.text, row.source) for row in steps))
