"""
Times of day as people say and type them: "10:30", "10.30", "3pm", "half past ten", "at 3".

A time that does not say which half of the day it means gives those of both that lie in a clinic's
usual day. Source: common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import time

# When somebody may be there; common practice, no source.
USUAL_HOURS = range(7, 20)
_HOURS = {
    "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8,
    "nine": 9, "ten": 10, "eleven": 11, "twelve": 12,
}  # fmt: skip
_PAST = {"quarter past": 15, "half past": 30, "half": 30, "quarter to": -15}
_HOUR = r"(?P<hour>[0-9]{1,2}|[a-z]{3,6})"
_HALF = r"(?: ?(?P<half>am|pm|a\.m\.|p\.m\.))?"
_CLOCK = re.compile(rf"(?P<hour>[0-9]{{1,2}})[:.h](?P<minute>[0-9]{{2}}){_HALF}")
_RUN = re.compile(rf"at (?P<hour>[0-9]{{2}})(?P<minute>[0-9]{{2}}){_HALF}")
_SAID = re.compile(rf"(?:at )?(?P<past>half past|half|quarter past|quarter to) {_HOUR}{_HALF}")
_BARE = re.compile(rf"(?P<at>at )?{_HOUR}(?P<clock> o'?clock)?{_HALF}")
_NOON = {"noon": time(12), "midday": time(12), "at noon": time(12)}


def readings(text: str) -> tuple[time, ...]:
    """Every time of day that the whole text may mean, the likeliest first; empty if it is none."""
    said = " ".join(text.casefold().replace("’", "'").split())
    if said in _NOON:
        return (_NOON[said],)
    if match := _CLOCK.fullmatch(said.removeprefix("at ")) or _RUN.fullmatch(said):
        return tuple(_times(match["hour"], int(match["minute"]), match["half"]))
    if match := _SAID.fullmatch(said):
        return tuple(_times(match["hour"], _PAST[match["past"]], match["half"]))
    match = _BARE.fullmatch(said)
    # A number alone is no time: it needs "at", "o'clock" or a half of the day.
    if match and (match["at"] or match["clock"] or match["half"]):
        return tuple(_times(match["hour"], 0, match["half"]))
    return ()


def _times(hour_said: str, minutes: int, half: str | None) -> Iterator[time]:
    """
    Args:
        minutes: past the hour; negative before it.
        half: "am" or "pm" in any spelling, or None where both may be meant.
    """
    hour = int(hour_said) if hour_said.isdecimal() else _HOURS.get(hour_said, -1)
    if not 0 <= hour <= 23 or not -60 < minutes < 60:
        return
    if half and not 1 <= hour <= 12:
        return
    if half:
        hours = [hour % 12 + (12 if half.startswith("p") else 0)]
    elif hour_said.startswith("0") or not 1 <= hour <= 12:
        hours = [hour]
    else:
        hours = [one for one in (hour % 12, hour % 12 + 12) if one in USUAL_HOURS]
    for one in hours:
        yield time(*divmod((one * 60 + minutes) % (24 * 60), 60))
