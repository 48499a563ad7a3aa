"""
The upright scale of a small plot of amounts: whole steps of 1, 2 or 5 times a power of ten.

Plots that stand beside each other share one axis, so that the eye compares them truly.
"""

from __future__ import annotations

from dataclasses import dataclass

MOST_STEPS = 3


@dataclass(frozen=True, slots=True)
class Axis:
    """From 0 to `top`, with a tick every `step`; base units (microlitres or centiunits)."""

    top: int
    step: int

    @property
    def ticks(self) -> tuple[int, ...]:
        return tuple(range(0, self.top + 1, self.step))

    def length(self, amount: int, whole: int) -> int:
        """How long `amount` is drawn where the whole axis is `whole` long; never nothing."""
        return max(1, round(amount * whole / self.top)) if amount else 0


def axis_to(highest: int) -> Axis:
    """
    The shortest axis of at most MOST_STEPS steps that reaches `highest`.

    Raises:
        ValueError: `highest` is not above 0.
    """
    if highest <= 0:
        raise ValueError("An axis needs an amount above 0.")
    power = 1
    while True:
        for times in (1, 2, 5):
            step = power * times
            if step * MOST_STEPS >= highest:
                return Axis(top=-(-highest // step) * step, step=step)
        power *= 10
