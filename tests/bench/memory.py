"""How much memory an act takes (Linux)."""

import tracemalloc
from collections.abc import Callable
from pathlib import Path


def python_peak_mb(act: Callable[[], object]) -> float:
    """The most that Python held at once while it ran."""
    tracemalloc.start()
    try:
        act()
        return tracemalloc.get_traced_memory()[1] / 1e6
    finally:
        tracemalloc.stop()


def growth_mb(act: Callable[[], object]) -> float:
    """How far the process grew at most while it ran, what the drivers hold included."""
    before = resident_mb()
    Path("/proc/self/clear_refs").write_text("5")  # sets the peak back to what is held now
    act()
    return resident_mb(peak=True) - before


def resident_mb(*, peak: bool = False) -> float:
    """Memory of this process that is in use."""
    name = "VmHWM" if peak else "VmRSS"
    for line in Path("/proc/self/status").read_text().splitlines():
        if line.startswith(name):
            return int(line.split()[1]) / 1024
    raise OSError(f"/proc/self/status has no {name}")
