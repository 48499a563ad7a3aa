"""
What is done in the background, again and again: a capability registers its tick when the app is
ready. A tick looks into the capability's own tables for what is due, does it, and may be run at any
time, twice at once, and again after it was killed half-way: the queue only says "look now".
"""

import logging
import threading
from collections.abc import Callable

logger = logging.getLogger(__name__)

Tick = Callable[[], None]

stopping = threading.Event()
"""Set when the worker was asked to stop: a tick ends after what it is doing."""

_registered: dict[str, Tick] = {}


class TickFailed(Exception):
    """One of the ticks raised; the message names it, the log tells where."""


def register(name: str, tick: Tick) -> None:
    _registered[name] = tick


def run_all() -> None:
    """
    Run every tick once, in the order of registration; one that fails does not keep the next back.

    Raises:
        TickFailed: at the end, if one did.
    """
    failed = []
    for name, tick in _registered.items():
        try:
            tick()
        except Exception:
            # Not the error itself: its message may hold a patient's data, and the queue keeps it.
            logger.exception("Tick %s failed", name)
            failed.append(name)
    if failed:
        raise TickFailed(f"Failed: {', '.join(failed)}.")
