"""One session as the tablet shows it: everything that can change while it is worked on."""

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from itertools import chain
from typing import Any

from django.db.models import QuerySet
from django.urls import reverse
from django.utils import timezone

from clinic.policy.models import ClinicPolicy
from clinic.policy.queries import current_policy
from clinic.review_rules.queries import RuleBook, rule_book
from planning.atlas.fit import Fit, MeasureError, fitted
from planning.atlas.nearness import near_vessels
from planning.review_dates import ReviewDateError
from planning.vocabulary import Jaw, View
from records.charting.queries.before import decisions_json, time_outs_json
from records.charting.queries.charted import Charted, charted
from records.charting.queries.occlusions import OCCLUSION_LINES, occlusion_json
from records.charting.queries.people import last_told, patients_json
from records.charting.queries.plans import plans_told
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
from records.sessions.queries.around import Around
from records.sessions.queries.flags import ShownFlag, shown_flags
from records.sessions.queries.tray import reasons_against

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
    return own.select_related("patient").prefetch_related("anaesthesia", OCCLUSION_LINES)


def snapshots(
    sessions: Iterable[TreatmentSession],
    user,
    *,
    policy: ClinicPolicy | None = None,
    people: Mapping[int, dict] | None = None,
) -> dict[str, dict]:
    """
    By key. The number of queries depends neither on the number of sessions nor on what is in them.

    Args:
        policy, people: as they were read already, people as from `patients_json`; who is missing
            there is read here.
    """
    # Before anything is read: who signs has not seen what another tablet brings meanwhile.
    checked_at = timezone.now()
    rows = charted(sessions)
    if not rows:
        return {}
    policy = policy or current_policy()
    people = _with_all(people or {}, rows)
    around = Around([row.session for row in rows], chain.from_iterable(row.tray for row in rows))
    book = _rule_book(rows, policy)
    last = last_told((row.session.pk, around.last_signed(row.session)) for row in rows)
    plans = plans_told(around.stages)
    return {
        str(row.session.key): _snapshot(row, user)
        | {
            "flags": [_flag(flag) for flag in _flags(row, policy, around)],
            "review": _review(row, book) if book and row.standing else "",
            "patient": people[row.session.patient_id],
            "last": last.get(row.session.pk),
            "plan": plans.get(row.session.pk),
            "decisions": decisions_json(around.decisions(row.session)),
            "time_outs": time_outs_json(around.time_outs(row.session)),
            "checked_at": checked_at,
        }
        for row in rows
    }


def _with_all(people: Mapping[int, dict], rows: list[Charted]) -> dict[int, dict]:
    """`people`, and those of `rows` whom nobody read yet."""
    unread = [row.session.patient for row in rows if row.session.patient_id not in people]
    return {**people, **patients_json(unread, timezone.localdate())}


def _snapshot(row: Charted, user) -> dict:
    session = row.session
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
        "points": [_point(point, user) for point in row.points],
        "tray": [_on_tray(unit, row) for unit in row.tray],
        "markings": _markings(row),
        "anaesthesia": [_anaesthesia(one) for one in session.anaesthesia.all()],
        "pictures": [_picture(picture) for picture in row.pictures],
        "occlusions": [occlusion_json(log) for log in session.occlusions.all()],
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


def _point(point: Any, user) -> dict:
    """Of one from `charted`, which has the keys with it."""
    return {name: getattr(point, name) for name in _POINT} | {
        "key": point.key,
        "removed": point.removed_at is not None,
        "unit": point.unit_id,
        "picture": point.picture_key,
        "marking": point.marking_key,
        "by": "" if point.logged_by_id == user.pk else str(point.logged_by),
    }


def _on_tray(one: SessionUnit, row: Charted) -> dict:
    unit, opening = one.unit, one.unit.opening
    is_untouched = unit.drawn == unit.wasted == 0
    was_used = any(point.unit_id == unit.pk for point in row.points)
    opened_here = opening.session_id == row.session.pk
    mine = not was_used and (is_untouched or not opened_here)
    told = unit_json(unit, reasons_against(unit, row.session)) | opening_json(opening)
    return {"unit": told | {"mine_to_put_back": mine, "deviation": one.deviation}}


def _markings(row: Charted) -> list[dict]:
    ticked = {point.marking_id: point.key for point in reversed(row.standing)}
    names = ("key", "head", "view", "x_dmm", "y_dmm", "region", "side")

    def told(marking: Marking) -> dict:
        return {name: getattr(marking, name) for name in names} | {
            "removed": marking.removed_at is not None,
            "point": ticked.get(marking.pk),
        }

    return [told(marking) for marking in row.markings]


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


def _flags(row: Charted, policy: ClinicPolicy, around: Around) -> Iterator[ShownFlag]:
    yield from _clock_flags(row.skew_ms)
    yield from shown_flags(row.session, row.standing, row.tray, policy, around)
    yield from _vessel_flags(row.session, row.standing)


def _clock_flags(skew_ms: int) -> Iterator[ShownFlag]:
    if abs(skew_ms) > SKEW_SECONDS * 1000:
        yield ShownFlag(
            "note",
            "Please check",
            clock_words(skew_ms),
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


def _rule_book(rows: list[Charted], policy: ClinicPolicy) -> RuleBook | None:
    """For all sessions in which something was given; None where nothing was."""
    days = [timezone.localdate(row.session.started_at) for row in rows if row.standing]
    return rule_book(on_or_after=min(days), policy=policy) if days else None


def _review(row: Charted, book: RuleBook) -> str:
    """The reviews a signature would ask for; nothing where the clinic never opens."""
    try:
        planned = planned_visits(row.session, book=book, points=row.standing)
    except ReviewDateError:
        return ""
    return "; ".join(f"Review {_day(visit.target)}, {visit.words}" for visit in planned)


def _day(day: date) -> str:
    return f"{day:%a} {day.day} {day:%b %Y}"
