"""What every act of the demo's past knows."""

import itertools
import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date

from records.demo.clinic import DemoClinic, fixture
from records.demo.diary import Diary
from records.demo.portraits import PORTRAITS, Portrait
from records.patients.models import Patient


@dataclass
class Story:
    """
    Attributes:
        today: the day the demo is set in.
        rng: the same throws for the same day, for acts happen in a fixed order.
        patients: those registered so far.
        reviews: a number for each review that falls due.
        bookings: a number for each review that is booked.
        has_occlusion: a vessel seemed blocked once.
        incidents: what is still to go wrong, by lot number.
        portraits: whom the clinic still photographs, by what they are treated for.
    """

    today: date
    clinic: DemoClinic
    diary: Diary
    rng: random.Random
    patients: list[Patient] = field(default_factory=list)
    reviews: Iterator[int] = field(default_factory=itertools.count)
    bookings: Iterator[int] = field(default_factory=itertools.count)
    has_occlusion: bool = False
    incidents: dict[str, list[dict]] = field(default_factory=lambda: fixture("incidents"))
    portraits: list[Portrait] = field(default_factory=lambda: list(PORTRAITS))
