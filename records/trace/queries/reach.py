"""
How far a lot reached: whom, and how much of it was given.

Hyaluronidase that was given in an occlusion log is no point of a session, and is counted with them:
whoever got some of a lot is among its patients.
"""

from collections.abc import Iterable
from datetime import date, datetime
from typing import NamedTuple, Self

from django.db.models import Count, Max, QuerySet, Sum

from clinic.stock.models import Lot
from planning.names import fold
from planning.vocabulary import Measure
from records.occlusions.models import OcclusionEntry
from records.occlusions.queries import doses_of
from records.patients.enums import Channel
from records.sessions.models import InjectionEntry


class TraceSummary(NamedTuple):
    """How far a lot reached: people, sessions and points, and the amount given in base units."""

    patients: int
    sessions: int
    points: int
    amount: int


class ReachedPatient(NamedTuple):
    """One patient of the lot and how to reach them; `amount` in the product's base unit."""

    patient_id: int
    record_number: str
    name: str
    birth_date: date
    phone: str
    email: str
    preferred_channel: str
    sessions: int
    points: int
    amount: int
    last_at: datetime

    @property
    def channel(self) -> Channel:
        return Channel(self.preferred_channel)

    @classmethod
    def of_log(cls, dose: OcclusionEntry) -> Self:
        """Somebody of whom only a log is known yet: nothing is counted."""
        session = dose.occlusion.session
        who = session.patient
        return cls(
            who.pk, who.record_number, who.full_name, who.birth_date, who.phone, who.email,
            who.preferred_channel, sessions=1, points=0, amount=0, last_at=session.started_at,
        )  # fmt: skip

    def given(self, dose: OcclusionEntry) -> Self:
        return self._replace(
            amount=self.amount + (dose.dose_centiunits or 0), last_at=max(self.last_at, dose.at)
        )


_REACHED = (
    "session__patient_id",
    "session__patient__record_number",
    "session__patient__full_name",
    "session__patient__birth_date",
    "session__patient__phone",
    "session__patient__email",
    "session__patient__preferred_channel",
)


def trace_summary(lot: Lot) -> TraceSummary:
    """The figures of the whole lot, computed by the database."""
    figures = _points(lot).aggregate(
        patients=Count("session__patient_id", distinct=True),
        sessions=Count("session_id", distinct=True),
        points=Count("id"),
        amount=Sum("amount", default=0),
    )
    return _with_doses(TraceSummary(**figures), lot, _doses(lot))


def _with_doses(summary: TraceSummary, lot: Lot, doses: Iterable[OcclusionEntry]) -> TraceSummary:
    """Each session and each patient once, whether by a point, by a dose or by both."""
    of_logs = {dose.occlusion.session_id: dose.occlusion.session.patient_id for dose in doses}
    if not of_logs:
        return summary
    points = _points(lot)
    sessions = points.filter(session__in=of_logs).values_list("session_id", flat=True)
    of_patients = points.filter(session__patient__in=of_logs.values())
    patients = of_patients.values_list("session__patient_id", flat=True)
    return summary._replace(
        patients=summary.patients + len(set(of_logs.values()) - set(patients)),
        sessions=summary.sessions + len(set(of_logs) - set(sessions)),
        amount=summary.amount + sum(dose.dose_centiunits or 0 for dose in doses),
    )


def reached_patients(lot: Lot, *, limit: int | None = None) -> list[ReachedPatient]:
    """
    Everybody who got something of the lot, by name; the `limit` registered first, if more.

    Who got it in an occlusion log is never left out.
    """
    doses = _doses(lot)
    of_logs = {dose.occlusion.session.patient_id for dose in doses}
    by_points = (
        _points(lot)
        .order_by("session__patient_id")
        .values_list(*_REACHED)
        .annotate(
            sessions=Count("session_id", distinct=True),
            points=Count("id"),
            given=Sum("amount"),
            last_at=Max("session__started_at"),
        )
    )
    rows = [*by_points[:limit], *(by_points.filter(session__patient__in=of_logs) if doses else ())]
    reached = {row[0]: ReachedPatient(*row) for row in rows}
    for dose in doses:
        who = dose.occlusion.session.patient_id
        reached[who] = reached.get(who, ReachedPatient.of_log(dose)).given(dose)
    # Not by the database: the two order names differently.
    return sorted(reached.values(), key=lambda row: (fold(row.name), row.patient_id))


def _points(lot: Lot) -> QuerySet[InjectionEntry]:
    return InjectionEntry.objects.standing().filter(unit__lot=lot)


def _doses(lot: Lot) -> list[OcclusionEntry]:
    """None of a lot that is measured in mL: its amount and theirs cannot be added."""
    return list(doses_of([lot.pk])) if lot.product.measure is Measure.DOSE else []
