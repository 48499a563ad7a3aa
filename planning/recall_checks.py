"""
Effectiveness check of a recall: how many of the people concerned are asked whether the notice
reached them and they acted on it, who they are, and what came out.

The levels and their shares: `RECALL_EFFECTIVENESS`. They count consignees; here they count the
patients who got the product. For patients who carry a recalled implant only level A makes sense
(common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from hashlib import sha256
from typing import TypeVar

from planning.vocabulary import Term

# Between seed and id, so that "1" + "23" and "12" + "3" are two texts.
_SEPARATOR = "\x1f"

Id = TypeVar("Id", int, str)


class RecallCheckError(ValueError):
    """A sample that cannot be drawn or a figure that cannot be; the message says what to do."""


class Level(Term):
    """How many of the people concerned are checked."""

    A = "a", "A: everyone"
    B = "b", "B: a stated share between 10 % and 100 %"
    C = "c", "C: 10 %"
    D = "d", "D: 2 %"
    E = "e", "E: no check"

    @property
    def percent(self) -> int | None:
        """The share in per cent; None for level B, which states its own."""
        return _PERCENT.get(self)


_PERCENT: dict[Level, int] = {Level.A: 100, Level.C: 10, Level.D: 2, Level.E: 0}


@dataclass(frozen=True, slots=True)
class Figure:
    """
    Where a check stands, in people.

    Attributes:
        checked: asked, with an answer written down.
        effective: of these, reached by the notice and acted on it.
        target: to be checked by the level.
    """

    checked: int
    effective: int
    target: int

    def __post_init__(self) -> None:
        if min(self.checked, self.effective, self.target) < 0:
            raise RecallCheckError("A number of people is not negative.")
        if self.effective > self.checked:
            raise RecallCheckError(
                f"{self.effective} effective of {self.checked} checked cannot be: "
                "only who was checked can count as effective."
            )

    @property
    def outstanding(self) -> int:
        """People still to be checked."""
        return max(0, self.target - self.checked)

    @property
    def is_complete(self) -> bool:
        return not self.outstanding

    @property
    def effective_share(self) -> Fraction | None:
        """Effective / checked, exact; None while nobody was checked, which is not 0 %."""
        return Fraction(self.effective, self.checked) if self.checked else None

    def __str__(self) -> str:
        if not self.target and not self.checked:
            return "No check is asked for by this level."
        done = f"{self.checked} of {self.target} checked"
        if self.effective_share is None:
            return f"{done}."
        # Down, so that 100 % is said only of all.
        percent = int(self.effective_share * 100)
        return f"{done}; effective for {self.effective} of {self.checked} ({percent} %)."


def sample_size(level: Level, people: int, percent: int | None = None) -> int:
    """
    How many of so many people are checked, rounded up.

    Args:
        percent: the share of level B, above 10 and below 100; None for every other level.

    Raises:
        RecallCheckError: people negative, or a percent missing, out of range or out of place.
    """
    if people < 0:
        raise RecallCheckError("A number of people is not negative.")
    share = level.percent
    if share is None:
        if percent is None or not 10 < percent < 100:
            raise RecallCheckError(
                "Level B checks a share of its own: state a whole per cent from 11 to 99."
            )
        share = percent
    elif percent is not None:
        raise RecallCheckError(
            f"Level {level.name} has its own share of {share} %: leave the per cent empty."
        )
    return -(-people * share // 100)


def draw_sample(ids: Iterable[Id], size: int, seed: str) -> list[Id]:
    """
    `size` of the ids by lot, in the order drawn.

    Each id is ranked by the SHA-256 of seed and id, so the same seed draws the same people on every
    machine and in every version, whatever order the ids come in, and anybody can check it. A larger
    sample begins with the smaller one: who was checked already counts when the level is raised.

    Args:
        seed: text kept with the case, such as its reference and the date of the draw.

    Raises:
        RecallCheckError: no seed, an id twice, or more asked for than there are.
    """
    if not seed:
        raise RecallCheckError("A draw needs a seed, so that it can be repeated.")
    listed = list(ids)
    if len({str(each) for each in listed}) < len(listed):
        raise RecallCheckError("Somebody is on the list twice: count people, not points.")
    if not 0 <= size <= len(listed):
        raise RecallCheckError(f"{size} cannot be drawn from a list of {len(listed)}.")
    return sorted(listed, key=lambda each: _rank(seed, str(each)))[:size]


def _rank(seed: str, each: str) -> bytes:
    return sha256(f"{seed}{_SEPARATOR}{each}".encode()).digest()
