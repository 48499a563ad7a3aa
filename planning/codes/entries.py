"""
The entries of a GS1 code: what the library `biip` reads, and what it lets through.

An entry is an application identifier (01: product number, 10: lot ...) and its value. Three forms
are read: element strings as a scanner sends them, the printed form with brackets, and web addresses
(GS1 Digital Link). The library accepts an empty value, a lot that runs into the next entry, and
digits of other scripts; these are refused here. Dates are not left to it either, because it reads
the clock. Source: GS1 General Specifications, section 7.8 (separators) and 3 (identifiers).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from urllib.parse import parse_qsl, urlsplit

from biip import ParseConfig, ParseError
from biip.gs1_application_identifiers import GS1ApplicationIdentifier
from biip.gs1_digital_link_uris import GS1DigitalLinkURI
from biip.gs1_element_strings import GS1ElementString

from planning.codes.errors import BY_HAND, CodeError

# The sign itself, and the one that a scanner is set to send where the sign would be lost.
SEPARATORS = "\x1d|"
DATES = ("11", "12", "13", "15", "16", "17")
_DIGITS_ONLY = {"01", "02", "03", *DATES, "7003"}
_CONFIG = ParseConfig(separator_chars=tuple(SEPARATORS), gs1_element_strings_verify_date=False)
_PRINTED = re.compile(r"(?:\(\d{2,4}\)[^()]*)+")
_PRINTED_ENTRY = re.compile(r"\((\d{2,4})\)([^()]*)")
_NAMES = {
    "01": "product number",
    "10": "lot number",
    "11": "production date",
    "15": "best-before date",
    "17": "expiry",
    "21": "serial number",
    "7003": "expiry",
}
_SHOWN = 24


@dataclass(frozen=True, slots=True)
class Entry:
    """
    One value of a code.

    Attributes:
        ai: application identifier, two to four digits.
        value: as encoded, never empty.
        open_ended: nothing in the code says where the value ends; where a scanner drops the
            separator, it has taken in what came after it.
    """

    ai: str
    value: str
    open_ended: bool = False


def name_of(ai: str) -> str:
    """The entry in a sentence: "lot number (10)"."""
    return f"{_NAMES.get(ai, 'entry')} ({ai})"


def read_element_string(text: str) -> list[Entry]:
    """
    The entries of what a scanner sends: identifiers and values in a row, separators between.

    Raises:
        CodeError: no code, a value its identifier does not allow, or a lot or serial number that
            is not the last entry and has no separator after it.
    """
    entries: list[Entry] = []
    rest = text.lstrip(SEPARATORS)
    while rest:
        try:
            element = GS1ElementString.extract(rest, config=_CONFIG)
        except ParseError as error:
            raise _unreadable(rest, entries) from error
        ai = element.ai
        rest = rest[len(element) :]
        open_ended = ".." in ai.format and not rest.startswith(tuple(SEPARATORS))
        rest = rest.lstrip(SEPARATORS)
        entries.append(_entry(element, open_ended=open_ended))
        if open_ended and rest:
            raise _runs_on(ai, rest[0])
    return entries


def read_printed(text: str) -> list[Entry]:
    """
    The entries of the form printed under a code: (01)09521234543213(10)LOT42.

    Raises:
        CodeError: brackets that do not match, or a value its identifier does not allow.
    """
    if not _PRINTED.fullmatch(text):
        raise CodeError(
            "Brackets stand around the two to four digits before each entry, as in (10)LOT42, and "
            f"nowhere else: correct what was typed, scan the code, or {BY_HAND}."
        )
    return [_printed_entry(*match.groups()) for match in _PRINTED_ENTRY.finditer(text)]


def _printed_entry(ai: str, typed: str) -> Entry:
    value = typed.replace(" ", "") if ai in _DIGITS_ONLY else typed.strip(" ")
    try:
        if GS1ApplicationIdentifier.extract(f"{ai}{value}").ai != ai:
            raise ParseError(ai)
        return _entry(GS1ElementString.parse(f"{ai}{value}", config=_CONFIG))
    except ParseError as error:
        raise _refused(ai, value) from error


def read_web_address(text: str) -> list[Entry]:
    """
    The entries of a web address that names a product (GS1 Digital Link).

    Raises:
        CodeError: an address without a product, with an empty value, or with two for one entry.
    """
    try:
        asked = parse_qsl(urlsplit(text).query, keep_blank_values=True)
        link = GS1DigitalLinkURI.parse(text, config=_CONFIG)
    except (ParseError, ValueError) as error:
        raise CodeError(
            "This web address names no product by its number, or has an entry that cannot be read: "
            f"scan the other code on the box, or {BY_HAND}."
        ) from error
    # The library drops empty values, and of two it keeps the last.
    for ai, value in asked:
        if not value and ai.isdigit():
            raise _refused(ai, value)
    known = {element.ai.ai for element in link.element_strings}
    given = [Entry(ai, value) for ai, value in asked if ai in known]
    return [*(_entry(element) for element in link.element_strings), *given]


def _entry(element: GS1ElementString, *, open_ended: bool = False) -> Entry:
    if not element.value:
        raise _refused(element.ai.ai, "")
    return Entry(element.ai.ai, element.value, open_ended)


def _unreadable(rest: str, before: list[Entry]) -> CodeError:
    try:
        ai = GS1ApplicationIdentifier.extract(rest).ai
    except ParseError:
        if before:
            return CodeError(
                f"“{_shortened(rest)}” after the {name_of(before[-1].ai)} is no entry of a GS1 "
                f"code; something was lost or is too long: scan again, or {BY_HAND}."
            )
        return CodeError(
            "This is not a GS1 code: scan the square or the striped code on the box once more, "
            f"or {BY_HAND}."
        )
    return _refused(ai, re.split(f"[{SEPARATORS}]", rest.removeprefix(ai))[0])


def _refused(ai: str, value: str) -> CodeError:
    if not value:
        return CodeError(f"The {name_of(ai)} is empty: scan again, or {BY_HAND}.")
    return CodeError(
        f"The {name_of(ai)} cannot be “{_shortened(value)}”; it was misread or cut off: scan "
        f"again, or {BY_HAND}."
    )


def _runs_on(ai: GS1ApplicationIdentifier, following: str) -> CodeError:
    """Of a value of open length that something follows without a separator."""
    longest = ai.format.rpartition("..")[2]
    if re.match(r"[!%-?A-Z_a-z\"]", following):
        what = f"is longer than {longest} characters, or its separator was lost"
    else:
        what = f"cannot hold {'a blank' if following == ' ' else f'“{following}”'}"
    return CodeError(f"The {name_of(ai.ai)} {what}: scan again, or {BY_HAND}.")


def _shortened(value: str) -> str:
    return value if len(value) <= _SHOWN else f"{value[:_SHOWN]}…"
