"""
How much waits behind an entry of the navigation. What lies in packages above registers its count
when the app is ready; it is asked for only where the rail is drawn.
"""

from collections.abc import Callable
from functools import cache

Count = Callable[[], int]

_counts: dict[str, Count] = {}


def register(url_name: str, count: Count) -> None:
    _counts[url_name] = count


def waiting_behind(url_name: str) -> Count | None:
    """Asks once, however often the page shows it; None where nothing ever waits."""
    count = _counts.get(url_name)
    return cache(count) if count else None
