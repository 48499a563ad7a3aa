"""One session as the tablet shows it: everything that can change while it is worked on."""

from collections.abc import Iterable, Iterator
from datetime import date
from typing import Any

from django.db.models import F, Max, Min, QuerySet
from django.urls import reverse
from django.utils import timezone

from clinic.policy.models import ClinicPolicy
from clinic.policy.queries import current_policy
from planning.atlas.fit import Fit, MeasureError, fitted
from planning.atlas.nearness import near_vessels
from planning.review_dates import ReviewDateError
from planning.vocabulary import Jaw, View
from records.charting.models import Operation
from records.charting.queries.people import last_of_sessions, patients_json
from records.charting.queries.plans import plans_of_sessions
from records.charting.queries.units import opening_json, unit_json
from records.reviews.queries.asked import planned_visits
from records.sessions.models import (
    MEASURES_DMM,
    Anaesthesia,
    InjectionEntry,
    Marking,
    SessionPicture,
    SessionUnit,
    TreatmentSession,
)
from records.sessions.queries.flags import ShownFlag, shown_flags
from records.sessions.queries.tray import reasons_against, session_tray

# A tablet's clock that is off by more is pointed out. Common practice, no source.
SKEW_SECONDS = 120
_POINT = (
    "number", "head", "view", "x_dmm", "y_dmm", "reach_x_dmm", "reach_y_dmm", "region", "side",
    "plane", "technique", "instrument", "gauge", "length_mm", "aspiration", "amount", "deviation",
    "tapped_at", "confirmed_odd",
)  # fmt: skip


def own_sessions(keys: Iterable, user) -> QuerySet[TreatmentSession]:
    """Those among `keys` in which `user` injects."""
    own = TreatmentSession.objects.filter(key__in=keys, injector=user)
    return own.select_related("patient").prefetch_related("anaesthesia")


def snapshots(sessions: Iterable[TreatmentSession], user) -> dict[str, dict]:
    """By key. The number of queries depends on the number of sessions, not on what is in them."""
    sessions, policy = list(sessions), current_policy()
    patients = [session.patient for session in sessions]
    people = patients_json(patients, timezone.localdate())
    last = last_of_sessions(session.pk for session in sessions)
    plans = plans_of_sessions(session.pk for session in sessions)
    return {
        str(session.key): _snapshot(session, user, policy)
        | {
            "patient": people[session.patient_id],
            "last": last.get(session.pk),
            "plan": plans.get(session.pk),
        }
        for session in sessions
    }


def _snapshot(session: TreatmentSession, user, policy: ClinicPolicy) -> dict:
    tray = list(session_tray(session))
    everything = _points(session, tray)
    standing = [point for point in everything if point.removed_at is None]
    flags = [
        *_clock_flags(session),
        *shown_flags(session, standing, tray, policy),
        *_vessel_flags(session, standing),
    ]
    return {
        "key": session.key,
        "pk": session.pk,
        "mine": session.injector_id == user.pk,
        "head": session.head,
        "url": reverse("session-detail", args=[session.pk]),
        "started_at": session.started_at,
        "late_reason": session.late_reason,
        "jaw": session.jaw,
        "measures": {name: getattr(session, name) for name in MEASURES_DMM},
        "fit": _fit(session),
        "note": session.note,
        "signed": _signed(session),
        "set_aside_at": session.set_aside_at,
        "points": [_point(point, user) for point in everything],
        "tray": [_on_tray(row, session, everything) for row in tray],
        "markings": _markings(session, standing),
        "anaesthesia": [_anaesthesia(row) for row in session.anaesthesia.all()],
        "pictures": [_picture(picture) for picture in session.pictures.all()],
        "flags": [_flag(flag) for flag in flags],
        "review": _review(session, standing, policy) if standing else "",
        "checked_at": timezone.now(),
    }


def _fit(session: TreatmentSession) -> dict:
    """How the drawing is stretched, in thousandths; by nothing that cannot be a face's measure."""
    try:
        fit = fitted(**{name: getattr(session, name) for name in MEASURES_DMM})
    except MeasureError:
        fit = Fit()
    return {"x": fit.x_permille, "y": fit.y_permille}


def _signed(session: TreatmentSession) -> dict | None:
    if not session.is_signed:
        return None
    return {
        "at": session.signed_at,
        "name": session.signed_name,
        "url": reverse("session-detail", args=[session.pk]),
    }


def _points(session: TreatmentSession, tray: list[SessionUnit]) -> list[InjectionEntry]:
    """All points by number. Their units are those of the tray, lot and product included."""
    points = (
        session.points.select_related("logged_by")
        .order_by("number")
        .annotate(
            picture_key=F("picture__key"),
            marking_key=F("marking__key"),
            by=F("logged_by__full_name"),
        )
    )
    units = {row.unit_id: row.unit for row in tray}
    for point in points:
        point.unit = units.get(point.unit_id) or point.unit
    return list(points)


def _point(point: Any, user) -> dict:
    """Of one from `_points`, which has the keys and the name with it."""
    return {name: getattr(point, name) for name in _POINT} | {
        "key": point.key,
        "removed": point.removed_at is not None,
        "unit": point.unit_id,
        "picture": point.picture_key,
        "marking": point.marking_key,
        "by": "" if point.logged_by_id == user.pk else point.by,
    }


def _on_tray(row, session: TreatmentSession, points: list[InjectionEntry]) -> dict:
    unit, opening = row.unit, row.unit.opening
    is_untouched = unit.drawn == unit.wasted == 0
    was_used = any(point.unit_id == unit.pk for point in points)
    opened_here = opening.session_id == session.pk
    mine = not was_used and (is_untouched or not opened_here)
    told = unit_json(unit, reasons_against(unit, session)) | opening_json(opening)
    return {"unit": told | {"mine_to_put_back": mine, "deviation": row.deviation}}


def _markings(session: TreatmentSession, standing: list[InjectionEntry]) -> list[dict]:
    ticked = {point.marking_id: point.key for point in reversed(standing)}
    names = ("key", "head", "view", "x_dmm", "y_dmm", "region", "side")

    def told(marking: Marking) -> dict:
        return {name: getattr(marking, name) for name in names} | {
            "removed": marking.removed_at is not None,
            "point": ticked.get(marking.pk),
        }

    return [told(marking) for marking in session.markings.all()]


def _anaesthesia(row: Anaesthesia) -> dict:
    names = (
        "key", "head", "method", "product", "lidocaine_ug_per_ml", "with_epinephrine", "volume_ul",
        "given_at",
    )  # fmt: skip
    return {name: getattr(row, name) for name in names} | {"removed": row.removed_at is not None}


def _picture(picture: SessionPicture) -> dict:
    names = ("key", "head", "width", "height", "x1", "y1", "x2", "y2", "distance_dmm", "on_pupils")
    return {name: getattr(picture, name) for name in names} | {
        "removed": picture.removed_at is not None,
        "url": reverse("charting-picture", args=[picture.key]),
    }


def _flag(flag: ShownFlag) -> dict:
    return {
        "level": flag.level,
        "label": flag.label,
        "title": flag.title,
        "text": flag.text,
        "source": flag.source,
        "points_text": flag.points_text if flag.points else "",
    }


def _clock_flags(session: TreatmentSession) -> Iterator[ShownFlag]:
    """Order never depends on a tablet's clock, but the times shown of the points do."""
    ends = Operation.objects.filter(session=session).aggregate(
        least=Min("skew_ms"), most=Max("skew_ms")
    )
    furthest = max(filter(None, ends.values()), key=abs, default=0)
    if abs(furthest) > SKEW_SECONDS * 1000:
        yield ShownFlag(
            "note",
            "Please check",
            clock_words(furthest),
            "The times of the points are by the tablet's clock. Their order is right.",
            "comparison with the clinic's clock",
        )


def clock_words(skew_ms: int) -> str:
    """ "The tablet's clock was 7 minutes behind.", for how far the clinic's clock was ahead."""
    minutes = max(1, round(abs(skew_ms) / 60_000))
    unit = "minute" if minutes == 1 else "minutes"
    way = "behind" if skew_ms > 0 else "ahead"
    return f"The tablet's clock was {minutes:,} {unit} off: {way} the clinic's."


def _vessel_flags(session: TreatmentSession, points: list[InjectionEntry]) -> Iterator[ShownFlag]:
    """A note for each vessel with points near its drawn line; it never blocks anything."""
    near: dict[str, list] = {}
    for point in points:
        if not View(point.view).is_drawn:
            continue
        for found in near_vessels(View(point.view), point.x_dmm, point.y_dmm, Jaw(session.jaw)):
            near.setdefault(found.vessel.key, []).append((point.number, found))
    for rows in near.values():
        _, first = rows[0]
        yield ShownFlag(
            "note",
            "Beware",
            f"Near the {first.vessel.name}",
            f"Usual depth: {first.vessel.depth}. The drawn line is a mean; this patient's vessel "
            "may run elsewhere.",
            f"{first.vessel.source} ({first.vessel.mark})",
            tuple(number for number, _ in rows),
        )


def _review(session: TreatmentSession, standing: list[InjectionEntry], policy: ClinicPolicy) -> str:
    """The reviews a signature would ask for; nothing where the clinic never opens."""
    try:
        planned = planned_visits(session, policy=policy, points=standing)
    except ReviewDateError:
        return ""
    return "; ".join(f"Review {_day(visit.target)}, {visit.words}" for visit in planned)


def _day(day: date) -> str:
    return f"{day:%a} {day.day} {day:%b %Y}"
