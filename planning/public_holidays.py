"""
Public holidays of a country or of a part of it, as the library `holidays` has them.

They are advice from a general list: which of them a clinic keeps is for the clinic to check. A year
is reckoned once and kept.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

from holidays import country_holidays, list_supported_countries
from holidays.registry import COUNTRIES

KEPT_YEARS = 512
_WORD = re.compile(r"(?<=[a-z])(?=[A-Z])")


class HolidayError(ValueError):
    """A country, or a part of it, that the list of holidays does not know."""


@dataclass(frozen=True, slots=True)
class HolidayCalendar:
    """
    The holidays of one country, such as "GB", or of a part of it, such as "ENG".

    Raises:
        HolidayError: the list does not know the country or the part.
    """

    country: str
    subdivision: str = ""

    def __post_init__(self) -> None:
        parts = parts_of(self.country)
        if self.subdivision and self.subdivision not in parts:
            raise HolidayError(f"{self.country} has no part {self.subdivision!r} in the list.")

    def name_of(self, day: date) -> str:
        """What is celebrated on `day`, "Christmas Day"; "" on any other day."""
        return _year(self.country, self.subdivision, day.year).get(day, "")

    def in_year(self, year: int) -> list[tuple[date, str]]:
        """All of a year in their order, each with its name."""
        return sorted(_year(self.country, self.subdivision, year).items())


@lru_cache(maxsize=KEPT_YEARS)
def _year(country: str, subdivision: str, year: int) -> Mapping[date, str]:
    # `expand` would let the object grow at each look-up of another year.
    return dict(country_holidays(country, subdiv=subdivision or None, years=year, expand=False))


@lru_cache(maxsize=1)
def countries() -> Mapping[str, str]:
    """Every country of the list by its two letters (ISO 3166-1), in the order of the names."""
    known = list_supported_countries(include_aliases=False)
    names = {entry[1]: _WORD.sub(" ", entry[0]) for entry in COUNTRIES.values()}
    found = {code: names[code] for code in known if code in names}
    return dict(sorted(found.items(), key=lambda pair: pair[1]))


@lru_cache(maxsize=KEPT_YEARS)
def parts_of(country: str) -> Mapping[str, str]:
    """
    The parts of a country that have holidays of their own: code -> name, or the code where the list
    has no name. Empty for a country without.

    Raises:
        HolidayError: the list does not know the country.
    """
    if country not in countries():
        raise HolidayError(f"No list of holidays for the country {country!r}.")
    calendar = type(country_holidays(country, years=()))
    names: dict[str, str] = {}
    for name, code in getattr(calendar, "subdivisions_aliases", {}).items():
        names.setdefault(code, name)
    return {code: names.get(code, code) for code in calendar.subdivisions}


def part_named(country: str, text: str) -> str:
    """
    The code of a part of a country that is typed as its code or name, in either case.

    Raises:
        HolidayError: the list does not know the country, or no such part of it.
    """
    wanted = text.strip().casefold()
    for code, name in parts_of(country).items():
        if wanted in (code.casefold(), name.casefold()):
            return code
    raise HolidayError(f"{countries()[country]} has no part {text.strip()!r} in the list.")
