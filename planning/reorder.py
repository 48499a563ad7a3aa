"""
When to order a product again, and how much: the reorder point.

Use per week is what was opened in the last weeks. The point covers the days the supplier takes and
some spare days; an order fills up to the point and the use of some weeks more (order-up-to level).
Exact fractions inside, rounded up once at the end, so that the last day is covered.

It knows no seasons and no orders under way: it is advice for the person who orders.

Source: `REORDER_POINT`; how long an order lasts is the clinic's own choice.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import ceil

DAYS_PER_WEEK = 7
ORDER_LASTS_WEEKS = 4  # common practice, no source


class ReorderError(ValueError):
    """A number of units, weeks or days that cannot be."""


@dataclass(frozen=True, slots=True)
class Reorder:
    """
    Attributes:
        opened, weeks: the use looked at: units opened in so many weeks.
        lead_days, spare_days: what the supplier takes, and what is kept besides.
        per_week: use in a week, exact.
        point: order when so many units or fewer are left; 0 if nothing was used.
        on_hand: usable units, unopened.
        is_due: whether it is time; never for a product that was not used.
        order: units to order now; 0 unless due.
    """

    opened: int
    weeks: int
    lead_days: int
    spare_days: int
    per_week: Fraction
    point: int
    on_hand: int
    is_due: bool
    order: int

    @property
    def formula(self) -> str:
        """The computation in words, with its figures."""
        weeks = _counted(self.weeks, "week")
        if not self.opened:
            return f"None opened in {weeks}: no use to order for."
        covered = self.per_week * Fraction(self.lead_days + self.spare_days, DAYS_PER_WEEK)
        left = "1 or none is" if self.point == 1 else f"{self.point:,} or fewer are"
        return (
            f"{self.opened:,} opened in {weeks} is {two_places(self.per_week)} a week; "
            f"for {self.lead_days} + {self.spare_days} days that is {two_places(covered)}; "
            f"order when {left} left."
        )


def reorder(
    *,
    opened: int,
    weeks: int,
    lead_days: int,
    spare_days: int,
    on_hand: int,
    order_lasts_weeks: int = ORDER_LASTS_WEEKS,
) -> Reorder:
    """
    The reorder point of one product, and whether it is reached.

    Args:
        opened: units opened in the last `weeks` whole weeks.
        on_hand: units that can still be opened: not expired, not in quarantine.

    Raises:
        ReorderError: a figure is negative or not whole, or weeks or lead and spare days together
            are 0.
    """
    counts = (opened, weeks, lead_days, spare_days, on_hand, order_lasts_weeks)
    if any(not isinstance(count, int) or isinstance(count, bool) or count < 0 for count in counts):
        raise ReorderError("Units, weeks and days are whole numbers from 0.")
    if not weeks:
        raise ReorderError("The use needs at least 1 week to look at.")
    if not lead_days + spare_days:
        raise ReorderError("State how many days the supplier takes, or some days to spare.")
    per_week = Fraction(opened, weeks)
    covered = per_week * Fraction(lead_days + spare_days, DAYS_PER_WEEK)
    point = ceil(covered)
    is_due = bool(opened) and on_hand <= point
    order = ceil(covered + per_week * order_lasts_weeks) - on_hand if is_due else 0
    return Reorder(
        opened=opened,
        weeks=weeks,
        lead_days=lead_days,
        spare_days=spare_days,
        per_week=per_week,
        point=point,
        on_hand=on_hand,
        is_due=is_due,
        order=max(order, 1) if is_due else 0,
    )


def two_places(number: Fraction) -> str:
    """A number not below 0 to two places, halves up, without trailing zeros: "1.17", "2", "0.5"."""
    whole, part = divmod(int(number * 100 + Fraction(1, 2)), 100)
    return f"{whole:,}.{part:02d}".rstrip("0").rstrip(".") if part else f"{whole:,}"


def _counted(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"
