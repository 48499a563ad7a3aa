"""What a bench measures and how it is written down."""

import gc
import math
import statistics
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from time import perf_counter

from clinic.stack import in_one_piece

RATIO, MILLISECONDS, SECONDS, MEGABYTES, FAULTS = "×", "ms", "s", "MB", "faults"


@dataclass(frozen=True)
class Result:
    """
    One line of the table.

    Attributes:
        what: the measured act, with its sizes.
        unit: RATIO, MILLISECONDS, SECONDS, MEGABYTES or FAULTS.
        goal: the most that `judged` may be; None when the line only informs.
        judged: "median" or "p95".
        note: the times behind a ratio, or what else helps to read the line.
    """

    what: str
    unit: str
    lowest: float
    median: float
    p95: float
    highest: float
    goal: float | None = None
    judged: str = "median"
    note: str = ""

    @property
    def is_met(self) -> bool | None:
        """Whether the goal is met; None without one."""
        return None if self.goal is None else getattr(self, self.judged) <= self.goal


def percentile(values: Sequence[float], share: float) -> float:
    """The smallest value that at least `share` of all values do not exceed (nearest rank)."""
    return sorted(values)[max(math.ceil(share * len(values)) - 1, 0)]


def summed_up(
    what: str,
    values: Sequence[float],
    *,
    unit: str,
    goal: float | None = None,
    judged: str = "median",
    note: str = "",
) -> Result:
    """The values of all rounds as one line."""
    return Result(
        what=what,
        unit=unit,
        lowest=min(values),
        median=statistics.median(values),
        p95=percentile(values, 0.95),
        highest=max(values),
        goal=goal,
        judged=judged,
        note=note,
    )


def interleaved(
    rounds: int,
    *,
    clock: Callable[[], float] = perf_counter,
    **acts: Callable[[], object],
) -> dict[str, list[float]]:
    """
    Seconds by `clock` of each act in each round: A B, B A, A B, ...

    Taking turns, and turning the order, spreads whatever else the machine does over all of them.
    One round before the first is not counted. Each act is called as a server calls what answers.
    """
    seconds: dict[str, list[float]] = {name: [] for name in acts}
    acts = {name: in_one_piece(act) for name, act in acts.items()}
    for act in acts.values():
        act()
    gc.collect()
    for number in range(rounds):
        names = list(acts) if number % 2 == 0 else list(reversed(acts))
        for name in names:
            start = clock()
            acts[name]()
            seconds[name].append(clock() - start)
    return seconds


def compared(
    what: str, ours: Sequence[float], base: Sequence[float], *, goal: float | None = None
) -> Result:
    """Our seconds as a ratio to the base's, round by round; the times are in the note."""
    ratios = [mine / other for mine, other in zip(ours, base, strict=True)]
    times = f"{statistics.median(ours) * 1000:.3g} ms to {statistics.median(base) * 1000:.3g} ms"
    return summed_up(what, ratios, unit=RATIO, goal=goal, note=times)
