"""One row of a file read by a mapping: what it says, or everything that is wrong with it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TypeVar

from planning.imports.cells import (
    read_code,
    read_day,
    read_email,
    read_given,
    read_phone,
    read_sex,
    read_text,
    says_nothing,
)
from planning.imports.columns import COLUMNS, DateOrder, Kind
from planning.names import Person, words
from planning.stock_cells import CellError
from planning.stock_lines import Problem
from planning.vocabulary import Measure

Value = TypeVar("Value")

LONGEST_NAME, LONGEST_KNOWN_AS, LONGEST_CODE = 200, 100, 64
LONGEST_WORDS, LONGEST_NOTE, LONGEST_WARNING, LONGEST_ADDRESS = 200, 500, 270, 500
_LABELS = {column.key: column.label for kind in Kind for column in COLUMNS[kind]}
_NEEDED = {kind: [column.key for column in COLUMNS[kind] if column.needed] for kind in Kind}


@dataclass(frozen=True, slots=True)
class Mapped:
    """
    How the rows of one file are read.

    Attributes:
        columns: our column's key -> the place of theirs, from 0.
        width: how many headings there are.
        order: of days with the year last; None where the file has none that need it.
        measure: of amounts without a unit; None: they are refused.
    """

    kind: Kind
    columns: Mapping[str, int]
    width: int
    order: DateOrder | None = None
    measure: Measure | None = None


@dataclass(frozen=True, slots=True)
class FormerPatient:
    """A patient as a row tells of them; weight is text, as it is typed elsewhere too."""

    former_number: str
    full_name: str
    known_as: str
    birth_date: date
    sex: str
    phone: str
    email: str
    address: str
    weight: str
    warning: str

    @property
    def person(self) -> Person:
        return Person(
            f"{self.full_name} {self.known_as}".strip(), self.birth_date, self.phone, self.email
        )


@dataclass(frozen=True, slots=True)
class FormerTreatment:
    """A past treatment as a row tells of it, and how its patient is found."""

    record_number: str
    former_number: str
    full_name: str
    birth_date: date | None
    treated_on: date
    product: str
    lot: str
    region: str
    amount: int | None
    measure: Measure | None
    injector: str
    note: str


def read_row(
    cells: Sequence[str], mapped: Mapped, today: date
) -> FormerPatient | FormerTreatment | tuple[Problem, ...]:
    """What the row says, or its problems in the order of our columns."""
    reader = _Reader(cells, mapped, today)
    is_patient = mapped.kind is Kind.PATIENTS
    said = reader.patient() if is_patient else reader.treatment()
    return tuple(reader.problems) if reader.problems else said


class _Reader:
    """Gathers every problem of a row instead of stopping at the first."""

    def __init__(self, cells: Sequence[str], mapped: Mapped, today: date) -> None:
        self._cells, self._mapped, self._today = cells, mapped, today
        self.problems: list[Problem] = []
        if beyond := [cell for cell in cells[mapped.width :] if cell]:
            message = "there are more cells than headings: quote a cell that holds the separator."
            self.problems.append(Problem("Beyond the headings", beyond[0][:60], message))
        for key in _NEEDED[mapped.kind]:
            if not self._typed(key):
                self._add(key, "it is empty.")

    def patient(self) -> FormerPatient:
        born = self._cell("birth_date", self._past_day, date.min)
        street = self._cell("street", lambda text: read_text(text, LONGEST_ADDRESS), "")
        town = " ".join(
            self._cell(key, lambda text: read_text(text, LONGEST_WORDS), "")
            for key in ("postcode", "town")
        ).strip()
        return FormerPatient(
            former_number=self._code("former_number"),
            full_name=self._name(),
            known_as=self._words("known_as", LONGEST_KNOWN_AS),
            birth_date=born,
            sex=self._cell("sex", read_sex, "not_stated"),
            phone=self._cell("phone", read_phone, ""),
            email=self._cell("email", read_email, ""),
            address="\n".join(filter(None, (street, town))),
            weight=self._typed("weight"),
            warning=self._cell("warning", _warning, ""),
        )

    def treatment(self) -> FormerTreatment:
        self._check_who()
        nothing: tuple[int | None, Measure | None] = (None, None)
        amount, measure = self._cell("amount", self._given, nothing)
        return FormerTreatment(
            record_number=self._code("record_number").upper(),
            former_number=self._code("former_number"),
            full_name=self._name(),
            birth_date=self._cell("birth_date", self._past_day, None),
            treated_on=self._cell("treated_on", self._past_day, date.min),
            product=self._words("product"),
            lot=self._code("lot"),
            region=self._words("region"),
            amount=amount,
            measure=measure,
            injector=self._words("injector"),
            note=self._words("note", LONGEST_NOTE),
        )

    def _check_who(self) -> None:
        by_number = self._typed("record_number") or self._typed("former_number")
        if not by_number and not (self._typed("full_name") and self._typed("birth_date")):
            self._add("former_number", "nothing says who the patient is.")

    def _name(self) -> str:
        names = [self._words(key, LONGEST_NAME) for key in ("first_names", "full_name")]
        name = " ".join(filter(None, names))
        if self._typed("full_name") and not words(name):
            self._add("full_name", "write the name with at least one letter.")
        if len(name) > LONGEST_NAME:
            self._add("full_name", f"it is longer than {LONGEST_NAME} characters.")
        return name

    def _past_day(self, text: str) -> date:
        day = read_day(text, self._mapped.order)
        if day > self._today:
            raise CellError("this day is still to come: check the year.")
        return day

    def _given(self, text: str) -> tuple[int | None, Measure | None]:
        return read_given(text, self._mapped.measure)

    def _words(self, key: str, longest: int = LONGEST_WORDS) -> str:
        return self._cell(key, lambda text: read_text(text, longest), "")

    def _code(self, key: str) -> str:
        return self._cell(key, lambda text: read_code(text, LONGEST_CODE), "")

    def _typed(self, key: str) -> str:
        place = self._mapped.columns.get(key)
        return self._cells[place] if place is not None and place < len(self._cells) else ""

    def _cell(self, key: str, read: Callable[[str], Value], empty: Value) -> Value:
        typed = self._typed(key)
        try:
            return read(typed) if typed else empty
        except CellError as error:
            self._add(key, str(error))
            return empty

    def _add(self, key: str, message: str) -> None:
        self.problems.append(Problem(_LABELS[key], self._typed(key)[:60], message))


def _warning(text: str) -> str:
    return "" if says_nothing(text) else read_text(text, LONGEST_WARNING)
