"""A flag as pages show it."""

from dataclasses import dataclass


@dataclass(frozen=True)
class ShownFlag:
    """
    A flag as page and note show it.

    Attributes:
        level: "stop", "caution" or "note", by which it is drawn.
        label: the level in words.
        points: numbers of the points it is about.
    """

    level: str
    label: str
    title: str
    text: str
    source: str
    points: tuple[int, ...] = ()

    @classmethod
    def kept(cls, row: dict) -> "ShownFlag":
        """From `flags_to_keep`."""
        return cls(**row | {"points": tuple(row["points"])})

    @property
    def points_text(self) -> str:
        """ "Point 4", "Points 1 to 5, 7": forty numbers in a row are read by nobody."""
        runs: list[list[int]] = []
        for number in sorted(self.points):
            if runs and number == runs[-1][-1] + 1:
                runs[-1].append(number)
            else:
                runs.append([number])
        parts = [
            f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(map(str, run)) for run in runs
        ]
        return f"Point{'s' if len(self.points) > 1 else ''} {', '.join(parts)}"
