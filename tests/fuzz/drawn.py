"""How hypothesis is asked: so many inputs, none kept for a later run, no clock."""

from collections.abc import Callable

from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis.strategies import SearchStrategy


def for_each(do: Callable, *, inputs: int, seeded: int, **drawn: SearchStrategy) -> None:
    """
    Call `do` with `inputs` draws; the same seed draws the same again.

    What goes wrong is noted by `do`, not raised, so there is nothing to shrink.
    """
    asked = settings(
        max_examples=inputs,
        phases=[Phase.generate],
        database=None,
        deadline=None,
        suppress_health_check=list(HealthCheck),
    )
    seed(seeded)(asked(given(**drawn)(do)))()
