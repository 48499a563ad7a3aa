"""The order of the demo's past."""

import itertools
from collections.abc import Callable
from datetime import datetime
from heapq import heappop, heappush

from records.demo.clock import clock_at


class Diary:
    """
    What happens in the clinic, carried out strictly in the order of time.

    An act may note later ones, as a signature notes the review. Acts of the same moment happen in
    the order in which they were noted.
    """

    def __init__(self) -> None:
        self._acts: list[tuple[datetime, int, Callable[[], object]]] = []
        self._numbers = itertools.count()
        self._latest: datetime | None = None

    def note(self, moment: datetime, act: Callable[[], object]) -> None:
        """
        Let `act` happen at `moment`.

        Raises:
            ValueError: that moment is over.
        """
        if self._latest is not None and moment < self._latest:
            raise ValueError(f"{moment} is over; it is {self._latest}.")
        heappush(self._acts, (moment, next(self._numbers), act))

    def carry_out(self) -> None:
        """Everything noted, with the clock at its moment, until nothing is left."""
        while self._acts:
            self._latest, _, act = heappop(self._acts)
            with clock_at(self._latest):
                act()
