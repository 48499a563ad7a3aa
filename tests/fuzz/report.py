"""What came of all that was sent."""

from collections import Counter
from dataclasses import dataclass, field


@dataclass
class Report:
    """
    Attributes:
        statuses: how often each status was answered.
        problems: by address and problem, the first input that met it.
        places: how many addresses something was sent to.
    """

    seed: int
    statuses: Counter = field(default_factory=Counter)
    problems: dict[tuple[str, str], str] = field(default_factory=dict)
    places: set[str] = field(default_factory=set)

    def note(self, status: int, place: str, problem: str, sent: object) -> None:
        self.statuses[status] += 1
        self.places.add(place)
        if problem:
            self.problems.setdefault((place, problem), repr(sent)[:600])

    @property
    def summary(self) -> str:
        answers = ", ".join(
            f"{count} x {status}" for status, count in sorted(self.statuses.items())
        )
        return (
            f"{self.statuses.total()} inputs of seed {self.seed} to {len(self.places)} places: "
            f"{answers}; {len(self.problems)} problems"
        )
