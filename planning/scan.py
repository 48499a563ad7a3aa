"""
What a scanned or typed code says of a pack: product number, lot, expiry, serial number.

`read_scan` never raises and never guesses: what cannot be read for certain is refused with a
sentence that says what to do, and a refused scan holds nothing else. What can be read but should
be looked at comes with warnings. The computation is the library biip's; what it lets through is
caught in `planning.codes`. Codes of the other standard (HIBC) are known again and refused.

Sources: GS1 General Specifications, sections 3 (entries), 7.8 (separators), 7.9 (check digit),
7.12 (century).
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import date, time

from planning.codes import hibc
from planning.codes.carriers import Carrier, take_carrier
from planning.codes.cautions import glued_values, missing_entries, unlike_an_expiry
from planning.codes.dates import CodeDate, CodeDateError, read_date, read_time
from planning.codes.entries import (
    DATES,
    SEPARATORS,
    Entry,
    name_of,
    read_element_string,
    read_printed,
    read_web_address,
)
from planning.codes.errors import BY_HAND, CodeError
from planning.gtin import LENGTHS, GtinError, normalise_gtin

LONGEST = 500
_AROUND = " \t\r\n"
# How the separator looks where a person or a program wrote it out. `<GS>` and `(GS)` would pass as
# part of a lot number.
_WRITTEN_SEPARATOR = re.compile(
    r"[{<(\[](?:GS|FNC1)[}>)\]]|\\x1D|\\u001D|\^\]|␝", re.IGNORECASE | re.ASCII
)
# What a code begins with that holds entries and no bare number.
_PACK_ENTRIES = ("01", "10", "11", "17", "21")
_NO_STOCK_ITEM = {
    "00": "the label of a shipment",
    "02": "the label of a carton and names what lies in it",
    "03": "of an item made to order, which is no stock",
}


@dataclass(frozen=True, slots=True)
class Scan:
    """
    What a code says; "" and None where it says nothing.

    Attributes:
        gtin: product number, 14 digits.
        lot, serial: exactly as encoded; case and zeros count.
        expiry: last day of use.
        warnings: sentences to show; each says what to look at.
        error: why nothing was read and what to do. If set, everything else is empty.
        produced: day of production.
        expiry_time: time of the expiry day after which the product is not used.
        additional_id: the maker's catalogue number.
    """

    gtin: str = ""
    lot: str = ""
    expiry: date | None = None
    serial: str = ""
    warnings: tuple[str, ...] = ()
    error: str = ""
    produced: date | None = None
    expiry_time: time | None = None
    additional_id: str = ""

    @property
    def is_complete(self) -> bool:
        """Whether a pack can be entered from this alone: product, lot and expiry."""
        return bool(self.gtin and self.lot and self.expiry)


def read_scan(text: str, *, today: date) -> Scan:
    """What `text` says of a pack in hand on `today`."""
    try:
        carrier, data = take_carrier(_cleaned(text))
        caution = "" if _is_web_address(data) else carrier.caution
        return _scan_of(_entries(carrier, data), today, caution)
    except CodeError as error:
        return Scan(error=str(error))


def _cleaned(text: str) -> str:
    """The text without what stands around it; only signs that a code can hold."""
    text = text.strip(_AROUND)
    if not text.strip(SEPARATORS):
        raise CodeError(
            "Nothing was read: scan the code on the box, or type the digits printed under it."
        )
    if len(text) > LONGEST:
        raise CodeError(
            f"This text of {len(text)} characters is longer than any code on a pack: scan one code "
            "at a time."
        )
    if written_out := _WRITTEN_SEPARATOR.search(text):
        raise CodeError(
            f"The separator between two entries came as the letters “{written_out[0]}”: have the "
            f"scanner send the sign itself or |, and scan again, or {BY_HAND}."
        )
    for sign in text:
        if not (" " <= sign <= "~" or sign in SEPARATORS):
            shown = f"“{sign}”" if sign.isprintable() else "a sign that cannot be seen"
            raise CodeError(f"A code does not hold {shown}: scan again, or {BY_HAND}.")
    return text


def _entries(carrier: Carrier, data: str) -> list[Entry]:
    if data.startswith("+"):
        raise hibc.refusal(data)
    if _is_web_address(data):
        return read_web_address(data)
    if data.startswith("("):
        return read_printed(data)
    digits = data.replace(" ", "")
    if carrier.number_length:
        if not digits.isdigit() or len(digits) != carrier.number_length:
            raise CodeError(
                f"A striped code of this kind has {carrier.number_length} digits; this is "
                f"“{data}”: scan again, or type the digits printed under it."
            )
        return [_number(digits)]
    if digits.isdigit() and len(digits) in LENGTHS and not carrier.holds_entries:
        return _bare_digits(digits)
    return read_element_string(data)


def _is_web_address(data: str) -> bool:
    return data.lower().startswith(("http://", "https://"))


def _number(digits: str) -> Entry:
    try:
        return Entry("01", normalise_gtin(digits))
    except GtinError as error:
        raise CodeError(str(error)) from error


def _bare_digits(digits: str) -> list[Entry]:
    """
    Digits in the length of a product number, from a scanner that does not say what it read.

    They can also be entries: 17271130 is an expiry. Where both can be meant, neither is chosen.
    """
    if digits.startswith("0") and len(digits) == 8:
        raise CodeError(
            "Eight digits that begin with 0 are the short form of a longer number: type the 12 "
            "digits, or choose the product."
        )
    as_entries: list[Entry] = []
    if digits.startswith(_PACK_ENTRIES):
        try:
            as_entries = read_element_string(digits)
        except CodeError:
            if digits.startswith("01") and len(digits) == 14:
                raise
    try:
        number = _number(digits)
    except CodeError:
        if not as_entries:
            raise
        return as_entries
    if as_entries:
        first = as_entries[0]
        raise CodeError(
            f"These digits can be product number {number.value} or {name_of(first.ai)} "
            f"“{first.value}”: {BY_HAND}."
        )
    return [number]


def _scan_of(entries: list[Entry], today: date, caution: str) -> Scan:
    values = _one_value_each(entries)
    for ai, what in _NO_STOCK_ITEM.items():
        if ai in values and (ai != "00" or "01" not in values):
            raise CodeError(f"This code ({ai}) is {what}: scan the code on the single box.")
    gtin = _number(values["01"]).value if "01" in values else ""
    days = {ai: _day(ai, values[ai][:6], today) for ai in (*DATES, "7003") if ai in values}
    expiry_time = _time(values["7003"]) if "7003" in values else None
    if {"17", "7003"} <= days.keys() and days["17"].day != days["7003"].day:
        raise CodeError(f"The code holds two dates of expiry: scan again, or {BY_HAND}.")
    expiry = days.get("17") or days.get("7003")
    scan = Scan(
        gtin=gtin,
        lot=values.get("10", ""),
        expiry=expiry.day if expiry else None,
        serial=values.get("21", ""),
        produced=days["11"].day if "11" in days else None,
        expiry_time=expiry_time,
        additional_id=values.get("240", ""),
    )
    if not (scan.gtin or scan.lot or scan.expiry or scan.serial):
        raise CodeError(f"This code names no product, lot or expiry: scan another, or {BY_HAND}.")
    warnings = [
        caution,
        *missing_entries(scan.gtin, scan.lot, scan.expiry),
        *unlike_an_expiry(days, today=today),
        *glued_values(entries),
    ]
    return replace(scan, warnings=tuple(filter(None, warnings)))


def _one_value_each(entries: list[Entry]) -> dict[str, str]:
    """Value by identifier; the same value twice is one, two values are a question."""
    values: dict[str, str] = {}
    for entry in entries:
        if values.setdefault(entry.ai, entry.value) != entry.value:
            raise CodeError(
                f"The {name_of(entry.ai)} is there twice, as “{values[entry.ai]}” and as "
                f"“{entry.value}”: scan one code at a time, or {BY_HAND}."
            )
    return values


def _day(ai: str, digits: str, today: date) -> CodeDate:
    try:
        return read_date(digits, today=today)
    except CodeDateError as error:
        raise CodeError(
            f"The {name_of(ai)} “{digits}” is no day of the calendar (year, month, day): scan "
            f"again, or {BY_HAND}."
        ) from error


def _time(digits: str) -> time:
    try:
        return read_time(digits[6:])
    except CodeDateError as error:
        raise CodeError(
            f"The time in the {name_of('7003')} “{digits}” is no time of day: scan again, or "
            f"{BY_HAND}."
        ) from error
