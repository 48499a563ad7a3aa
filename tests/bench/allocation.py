"""
The units of a full plan: 40 lines in five planes, from 12 kinds of pack in four sizes, against a
greedy pass over the same plan that opens the largest pack until each plane has enough.

The greedy pass is the least that gives an answer at all; it wastes more, which the bench checks.
"""

from datetime import date, timedelta

from planning.allocation.plan import PlannedAmount, allocate
from planning.allocation.shelf import Pack
from planning.atlas.regions import Region
from planning.vocabulary import Plane
from tests.bench.building import scaled
from tests.bench.results import MILLISECONDS, Result, compared, interleaved, summed_up

SIZES = {"default": 40}
ROUNDS = scaled(60, 3)
GOAL_MS = 50
CONTENTS = (500, 800, 1000, 2000)
FIRST_DAY = date(2027, 1, 31)


def build(count: int) -> None:
    """Nothing: the plan is made of plain values."""


def measure() -> list[Result]:
    lines, packs = _lines(), _packs()
    found = allocate(lines, packs)
    assert not found.shortages
    content = {pack.key: pack.content for pack in packs}
    ours = sum(content[key] * units for key, units in found.opened.items())
    assert ours <= greedy(lines, packs)
    seconds = interleaved(
        ROUNDS, plan=lambda: allocate(lines, packs), greedy=lambda: greedy(lines, packs)
    )
    what = f"Units of a plan of {len(lines)} lines from {len(packs)} kinds of pack"
    times = [1000 * second for second in seconds["plan"]]
    return [
        compared(f"{what}, to a greedy pass", seconds["plan"], seconds["greedy"]),
        summed_up(what, times, unit=MILLISECONDS, goal=GOAL_MS),
    ]


def _lines() -> list[PlannedAmount]:
    planes, regions = list(Plane)[:5], list(Region)
    return [
        PlannedAmount(n, "filler", regions[n % 20], planes[n % 5], 50 * (1 + n % 9))
        for n in range(SIZES["default"])
    ]


def _packs() -> list[Pack]:
    return [
        Pack(
            key=n,
            product="filler",
            lot=f"L{n // 4}",
            content=CONTENTS[n % 4],
            units=6,
            price=9_000 + CONTENTS[n % 4] * (10 + n // 4),
            expires_on=FIRST_DAY + timedelta(days=30 * n),
        )
        for n in range(12)
    ]


def greedy(lines: list[PlannedAmount], packs: list[Pack]) -> int:
    """The content that is opened when each plane takes the largest pack that is left."""
    needs: dict[str, int] = {}
    for line in lines:
        needs[line.plane] = needs.get(line.plane, 0) + line.amount
    left = {pack.key: pack.units for pack in packs}
    opened = 0
    for need in needs.values():
        while need > 0:
            pack = max((pack for pack in packs if left[pack.key]), key=lambda pack: pack.content)
            left[pack.key] -= 1
            need -= pack.content
            opened += pack.content
    return opened
