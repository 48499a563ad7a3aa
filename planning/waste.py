"""
What became waste of what was opened, for one product.

Amounts are integers, microlitres or centiunits by the product's measure; figures of two products
are never added.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class WasteFigures:
    """
    Of one product in one stretch of time.

    Attributes:
        opened: units opened, and `content` what they held when opened.
        left_over: what signing found left in a unit and threw away.
        otherwise: thrown away at another moment, each time with a reason.
    """

    opened: int = 0
    content: int = 0
    left_over: int = 0
    otherwise: int = 0

    def __post_init__(self) -> None:
        if min(self.opened, self.content, self.left_over, self.otherwise) < 0:
            raise ValueError("No figure of waste is below 0.")

    @property
    def wasted(self) -> int:
        return self.left_over + self.otherwise

    @property
    def share(self) -> Fraction | None:
        """
        Waste to opened content; None where nothing was opened, which is not the same as nothing.

        Above 1 where what was opened before is thrown away now.
        """
        return Fraction(self.wasted, self.content) if self.content else None

    def __add__(self, other: WasteFigures) -> WasteFigures:
        return WasteFigures(
            self.opened + other.opened,
            self.content + other.content,
            self.left_over + other.left_over,
            self.otherwise + other.otherwise,
        )
