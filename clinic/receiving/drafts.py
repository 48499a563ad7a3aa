"""
A delivery as it was typed and scanned so far: lines of text, kept until they are received.

Nothing is checked here but what a code adds: the form says what is wrong, and keeps what was typed.
"""

import re
import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import NamedTuple

from django.http import HttpRequest

from clinic.quarantine.queries import holding, standing_on
from clinic.receiving.errors import CodeRefused
from clinic.scanning.queries import Pack, find_pack
from clinic.stock.models import Lot, UnitOfStock
from clinic.stock.validators import MOST_AT_ONCE
from planning.scan import read_scan

# What one line of the form holds; `asked` says for which lot the ticks were set.
TYPED = ("product", "number", "expires_on", "quantity", "serials", "place")
TICKS = ("is_compared", "is_another_lot", "is_expired_on_arrival")
FIELDS = (*TYPED, "asked", *TICKS)
MOST_LINES = 60  # a form of more fields than Django reads at all
_SESSION_KEY = "delivery"
_KEY = re.compile(r"[0-9a-f]{32}")

Line = dict[str, str]


class Read(NamedTuple):
    """
    What one code did.

    Attributes:
        error: why it added nothing; "" if it did.
        line: the line that it is in now, counted from 0.
        added: how many units it added; 0 where it told more of a pack that was counted before.
        quantity: how many the line has now.
    """

    text: str
    error: str = ""
    line: int = 0
    added: int = 0
    quantity: int = 0


def blank_line(**known: str) -> Line:
    return dict.fromkeys(FIELDS, "") | known


def new_key() -> str:
    return uuid.uuid4().hex


@dataclass
class Delivery:
    """
    Attributes:
        key: by which it is received once, however often it is sent.
        lines: in the order in which they were begun.
        told: what the last codes did.
    """

    key: str = field(default_factory=new_key)
    lines: list[Line] = field(default_factory=list)
    told: list[Read] = field(default_factory=list)

    @classmethod
    def of_form(cls, data: Mapping[str, str]) -> "Delivery":
        """The lines of a sent form, as they were typed."""
        total, key = data.get("line-TOTAL_FORMS", ""), data.get("key", "")
        count = min(int(total), MOST_LINES) if total.isdecimal() and len(total) < 4 else 0
        lines = [
            {name: data.get(f"line-{index}-{name}", "") for name in FIELDS}
            for index in range(count)
        ]
        return cls(key if _KEY.fullmatch(key) else new_key(), lines)

    @classmethod
    def kept(cls, request: HttpRequest) -> "Delivery":
        """What this person left unfinished, or a new one."""
        stored = request.session.get(_SESSION_KEY)
        if stored is None:
            return cls()
        lines = [blank_line(**line) for line in stored["lines"]]
        return cls(stored["key"], lines, [Read(*read) for read in stored["told"]])

    def keep(self, request: HttpRequest) -> None:
        """Until it is received: the way to a new product and back must not lose it."""
        if self.is_begun or self.told:
            stored = {"key": self.key, "lines": self.lines, "told": self.told}
            request.session[_SESSION_KEY] = stored
        else:
            self.forget(request)

    @staticmethod
    def forget(request: HttpRequest) -> None:
        request.session.pop(_SESSION_KEY, None)

    @property
    def is_begun(self) -> bool:
        return any(not is_blank(line) for line in self.lines)

    def as_data(self) -> dict[str, str]:
        """As a form sends it."""
        typed = {
            f"line-{index}-{name}": value
            for index, line in enumerate(self.lines)
            for name, value in line.items()
        }
        return typed | {"line-TOTAL_FORMS": str(len(self.lines)), "line-INITIAL_FORMS": "0"}

    def add_line(self, **known: str) -> Line:
        """One more line, in the place of the line before; blank ones make room for it."""
        if len(self.lines) >= MOST_LINES:
            raise CodeRefused(
                f"A delivery holds {MOST_LINES} lines: receive these first, then go on."
            )
        line = blank_line(place=self.lines[-1]["place"] if self.lines else "", **known)
        self.lines = [other for other in self.lines if not is_blank(other)]
        self.lines.append(line)
        return line

    def read(self, text: str, *, today: date) -> Pack:
        """Add what a code says, or tell why not."""
        pack = find_pack(read_scan(text, today=today))
        before = {id(line): _count(line) or 0 for line in self.lines}
        try:
            _check(pack)
            line = self._add(pack)
        except CodeRefused as error:
            self.told.append(Read(text, str(error)))
        else:
            quantity = _count(line) or 0
            added = max(quantity - before.get(id(line), 0), 0)
            index = next(index for index, other in enumerate(self.lines) if other is line)
            self.told.append(Read(text, "", index, added, quantity))
        return pack

    def _add(self, pack: Pack) -> Line:
        """The line that holds the pack now."""
        says = _says(pack)
        last = self.lines[-1] if self.lines else None
        more = pack.product.units_per_pack if pack.product else 1
        if last and not is_blank(last) and _completes(says, last):
            if says["product"]:  # counted so far as packs of one
                last["quantity"] = str((_count(last) or 1) * more)
            last.update({name: value for name, value in says.items() if value})
            return self._merged(last)
        line = next((line for line in self.lines if _is_of_same_lot(says, line)), None)
        if line is None or (_count(line) or 0) + more > MOST_AT_ONCE:
            line = self.add_line(**says)
        _add_serial(line, pack.scan.serial)
        line["quantity"] = str((_count(line) or 0) + more)
        return line

    def _merged(self, line: Line) -> Line:
        """A line that turned out to be of a lot that is there already goes into that one."""
        says = {name: line[name] for name in ("product", "number", "expires_on")}
        others = [other for other in self.lines if other is not line]
        same = next((other for other in others if _is_of_same_lot(says, other)), None)
        if same is None:
            return line
        for serial in line["serials"].split():
            _add_serial(same, serial)
        same["quantity"] = str((_count(same) or 0) + (_count(line) or 0))
        self.lines = others
        return same


def is_blank(line: Line) -> bool:
    """Whether nothing was typed into it; a place alone does not count."""
    return not any(line[name].strip() for name in TYPED if name != "place")


def _count(line: Line) -> int | None:
    """The quantity as a number; None for what is none."""
    typed = line["quantity"].strip()
    if not typed:
        return 0
    return int(typed) if typed.isdecimal() and len(typed) < 6 else None


def _says(pack: Pack) -> Line:
    """What a code says of a line; the expiry of a known lot where the code has none."""
    expiry = pack.scan.expiry or (pack.lot.expires_on if pack.lot else None)
    return {
        "product": str(pack.product.pk) if pack.product else "",
        "number": pack.scan.lot,
        "expires_on": expiry.isoformat() if expiry else "",
    }


def _completes(says: Line, line: Line) -> bool:
    """
    Whether a code only tells more of the pack counted last: many boxes carry two codes, one with
    the product and one with lot and expiry.
    """
    is_whole = all(says.values())
    fits = all(not value or not line[name] for name, value in says.items())
    return fits and not is_whole


def _is_of_same_lot(says: Line, line: Line) -> bool:
    if (line["product"], line["number"]) != (says["product"], says["number"]):
        return False
    days = {says["expires_on"], line["expires_on"]} - {""}
    return _count(line) is not None and len(days) < 2


def _add_serial(line: Line, serial: str) -> None:
    if not serial:
        return
    serials = line["serials"].split()
    if serial in serials:
        raise CodeRefused(
            f"Serial number {serial} of this lot was scanned before: this box is counted once."
        )
    line["serials"] = "\n".join([*serials, serial])


def _check(pack: Pack) -> None:
    """Raises CodeRefused for what does not come in by this code."""
    scan, product = pack.scan, pack.product
    if scan.error:
        raise CodeRefused(scan.error)
    if pack.is_unknown:
        raise CodeRefused(_unknown(pack))
    if product is None:
        return
    if not product.is_active:
        raise CodeRefused(
            f"{product.name} is no longer in use: take it into use again before you receive it."
        )
    number = scan.lot
    if number and (by := holding(Lot(product=product, number=number), standing_on(product))):
        raise CodeRefused(
            f"Lot {number} is in quarantine: {by.reason} Set the box apart; it is not received."
        )
    if pack.lot and scan.serial:
        unit = UnitOfStock.objects.filter(lot=pack.lot, serial=scan.serial).first()
        if unit:
            raise CodeRefused(
                f"Serial number {scan.serial} of lot {number} is in the books already, as unit "
                f"{unit.label}: not counted again."
            )


def _unknown(pack: Pack) -> str:
    if pack.packed:
        return (
            f"This is the number of an outer pack of {pack.packed.name}: scan the single boxes in "
            "it."
        )
    return f"No product has the GTIN {pack.scan.gtin}: enter it as a new product, then it is added."


def settle_ticks(lines: Iterable[Line]) -> None:
    """A tick holds for the lot it was set for, not for one that was typed afterwards."""
    for line in lines:
        about = f"{line['product']}|{line['number'].strip()}|{line['expires_on']}"
        if line["asked"] != about:
            line.update(dict.fromkeys(TICKS, ""), asked=about)
