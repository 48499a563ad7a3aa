"""An occlusion log as pages and sheet show it."""

import hashlib
import json
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from django.core.serializers.json import DjangoJSONEncoder
from django.db.models import Exists, OuterRef, Prefetch, QuerySet

from clinic.audit.services import snapshot
from clinic.products.models import Product
from planning.amounts import format_amount
from planning.atlas.regions import Region
from planning.occlusion import EmergencySign, Entry, Sign, refill_is_slow, seconds_text
from planning.vocabulary import Measure
from records.occlusions.models import Occlusion, OcclusionEntry
from records.sessions.models import InjectionEntry, TreatmentSession
from records.sessions.queries.points import session_points

ENTRY_FIELDS = [
    "key", "what", "at", "tablet_at", "received_at", "by", "signs", "refill_tenths",
    "other_tenths", "pain", "dose_centiunits", "diluent_ul", "unit", "lot", "region", "side",
    "place", "minutes", "moment", "picture", "whom", "text", "grade",
]  # fmt: skip
_SIGN_LABELS = {sign.value: sign.label for sign in (*Sign, *EmergencySign)}


@dataclass(frozen=True)
class Line:
    """
    One line in words.

    Attributes:
        minutes: whole minutes since the first sign; below zero for what was before.
        is_loud: slow refill, or a sign of an emergency.
    """

    entry: OcclusionEntry
    words: str
    minutes: int
    is_loud: bool


@dataclass(frozen=True)
class Log:
    """A log with its lines in the order of their times."""

    occlusion: Occlusion
    entries: list[OcclusionEntry]

    @cached_property
    def first_sign_at(self) -> datetime:
        """As it was said last; else when the log was opened."""
        said = [entry.moment for entry in self.entries if entry.moment]
        return said[-1] if said else self.occlusion.at

    @cached_property
    def ended(self) -> OcclusionEntry | None:
        return self._last(Entry.ENDED)

    @property
    def is_discarded(self) -> bool:
        return self.ended is None and self._last(Entry.DISCARDED) is not None

    @property
    def is_running(self) -> bool:
        return self.ended is None and not self.is_discarded

    @property
    def is_emergency(self) -> bool:
        return self._last(Entry.EMERGENCY) is not None

    @property
    def doses(self) -> list[OcclusionEntry]:
        return [entry for entry in self.entries if entry.what == Entry.DOSE]

    @property
    def last_dose_at(self) -> datetime | None:
        return self.doses[-1].at if self.doses else None

    @property
    def dose_text(self) -> str:
        """All hyaluronidase together, "1,500 units"."""
        return dose_text(sum(entry.dose_centiunits or 0 for entry in self.doses))

    @property
    def lines(self) -> list[Line]:
        return [self._line(entry) for entry in self.entries]

    @property
    def digest(self) -> str:
        """SHA-256 over all lines, so that a printed sheet can be compared with the record."""
        content = [snapshot(entry, ENTRY_FIELDS) for entry in self.entries]
        text = json.dumps(content, cls=DjangoJSONEncoder, sort_keys=True, ensure_ascii=False)
        return hashlib.sha256(text.encode()).hexdigest()

    def _last(self, what: Entry) -> OcclusionEntry | None:
        return next((entry for entry in reversed(self.entries) if entry.what == what), None)

    def _line(self, entry: OcclusionEntry) -> Line:
        seen = entry.moment or entry.at
        minutes = int((seen - self.first_sign_at).total_seconds() // 60)
        return Line(entry, words_of(entry), minutes, _is_loud(entry))


@dataclass(frozen=True)
class Injected:
    """What of one lot had been injected in the session, and where."""

    product: Product
    lot: str
    amount: str
    where: str


def injected_in(session: TreatmentSession) -> list[Injected]:
    """By lot, in the order of the points."""
    by_lot: dict[int, list[InjectionEntry]] = {}
    for point in session_points(session):
        by_lot.setdefault(point.unit.lot_id, []).append(point)
    return [_injected(points) for points in by_lot.values()]


def _injected(points: list[InjectionEntry]) -> Injected:
    lot = points[0].unit.lot
    places = dict.fromkeys(
        f"{Region(point.region).label}, {point.get_side_display().lower()}" for point in points
    )
    amount = format_amount(sum(point.amount for point in points), points[0].unit.measure)
    return Injected(lot.product, lot.number, amount, "; ".join(places))


def logs() -> QuerySet[Occlusion]:
    """With all that `log_of` needs: two queries, the latest first."""
    entries = OcclusionEntry.objects.select_related("by", "unit__lot__product", "event")
    people = ("session__patient", "session__injector", "by", "protocol")
    found = Occlusion.objects.select_related(*people).order_by("-at", "-id")
    return found.prefetch_related(Prefetch("entries", entries))


def running() -> QuerySet[Occlusion]:
    """Logs that nobody ended or put aside."""
    over = OcclusionEntry.objects.filter(
        occlusion=OuterRef("pk"), what__in=[Entry.ENDED, Entry.DISCARDED]
    )
    return logs().filter(~Exists(over))


def log_of(occlusion: Occlusion) -> Log:
    return Log(occlusion, list(occlusion.entries.all()))


def dose_text(centiunits: int) -> str:
    return format_amount(centiunits, Measure.DOSE)


def unit_text(entry: OcclusionEntry) -> str:
    """ "Hyaluronidase 1500, unit U000012, lot L1", or "" where no unit is named."""
    if entry.unit is None:
        return ""
    lot = entry.unit.lot
    return f"{lot.product}, unit {entry.unit.label}, lot {lot.number}"


def words_of(entry: OcclusionEntry) -> str:
    """What one line says, without its time: "500 units in 1 mL, unit U000012, lot L1; left lip"."""
    told = _TOLD.get(Entry(entry.what), _plain)(entry)
    return "; ".join(filter(None, [told, entry.place_text]))


def _plain(entry: OcclusionEntry) -> str:
    return entry.text


def _signs(entry: OcclusionEntry) -> str:
    named = ", ".join(_SIGN_LABELS.get(sign, str(sign)) for sign in entry.signs)
    return ". ".join(filter(None, [named, entry.text]))


def _refill(entry: OcclusionEntry) -> str:
    told = seconds_text(entry.refill_tenths or 0)
    if entry.other_tenths is not None:
        told += f", the other side {seconds_text(entry.other_tenths)}"
    return f"{told}: slow" if _is_loud(entry) else told


def _dose(entry: OcclusionEntry) -> str:
    told = dose_text(entry.dose_centiunits or 0)
    if entry.diluent_ul:
        told += f" in {format_amount(entry.diluent_ul, Measure.VOLUME)}"
    if entry.unit:
        told += f", {unit_text(entry)}"
    elif entry.lot:
        told += f", lot {entry.lot}"
    else:
        told += ", lot not noted"
    return f"{told}. {entry.text}" if entry.text else told


def _call(entry: OcclusionEntry) -> str:
    return f"{entry.whom}: {entry.text}" if entry.text else entry.whom


def _ended(entry: OcclusionEntry) -> str:
    return ". ".join(filter(None, [entry.get_grade_display(), entry.text]))


_TOLD = {
    Entry.SIGNS: _signs,
    Entry.EMERGENCY: _signs,
    Entry.REFILL: _refill,
    Entry.PAIN: lambda entry: f"{entry.pain} of 10",
    Entry.DOSE: _dose,
    Entry.CALL: _call,
    Entry.TIMER: lambda entry: f"{entry.minutes} minutes",
    Entry.ENDED: _ended,
}


def _is_loud(entry: OcclusionEntry) -> bool:
    if entry.refill_tenths is not None:
        return refill_is_slow(entry.refill_tenths, entry.other_tenths)
    return entry.what == Entry.EMERGENCY
