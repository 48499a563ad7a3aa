"""What a person should look at before a code that could be read is believed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from planning.codes.dates import LIKELY_YEARS, CodeDate, is_likely, written
from planning.codes.entries import Entry, name_of
from planning.codes.glued import glued


def missing_entries(gtin: str, lot: str, expiry: date | None) -> Iterator[str]:
    """What a pack needs to be entered and the code does not hold."""
    absent = [
        name
        for name, value in (("product number", gtin), ("lot number", lot), ("expiry", expiry))
        if not value
    ]
    if not absent:
        return
    acts = [] if gtin else ["choose the product"]
    if typed := " and ".join(f"the {name}" for name in absent if name != "product number"):
        acts.append(f"type {typed} as printed on the box")
    yield f"The code holds no {' and no '.join(absent)}: {', '.join(acts)}."


def unlike_an_expiry(days: Mapping[str, CodeDate], *, today: date) -> Iterator[str]:
    """Dates by identifier that were completed, are unlikely, or have passed."""
    expiry = days.get("17") or days.get("7003")
    if expiry is None:
        if "15" in days:
            yield (
                f"The code holds a best-before date, {written(days['15'].day)}, which is no "
                "expiry: look for the expiry on the box."
            )
        return
    day = written(expiry.day)
    if expiry.month_only:
        yield (
            f"The code gives the month of expiry only; its last day, {day}, was taken: compare it "
            "with the box."
        )
    if not is_likely(expiry.day, today=today):
        yield (
            f"The expiry {day} lies more than {LIKELY_YEARS} years from today, which no pack "
            "does: the code was misread or means something else. Compare it with the box."
        )
    elif expiry.day < today:
        yield f"The expiry {day} has passed: do not use this pack, put it aside."
    if (produced := days.get("11")) and produced.day > expiry.day:
        yield (
            f"The production date {written(produced.day)} lies after the expiry {day}: compare "
            "both with the box."
        )


def glued_values(entries: Sequence[Entry]) -> Iterator[str]:
    """A lot or serial number that may have taken in what came after it."""
    present = {entry.ai for entry in entries}
    for entry in entries:
        if entry.ai in ("10", "21") and (other := glued(entry, present)):
            yield (
                f"The {name_of(entry.ai)} “{entry.value}” may be two entries, if the scanner drops "
                f"the separator: {other}. Compare it with the box; if it is two, have the scanner "
                "send | between entries."
            )
