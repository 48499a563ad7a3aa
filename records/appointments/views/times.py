"""The times that fit, for the pages that book and move."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime, time
from typing import Any, cast

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from clinic.access.rules import EVERYONE, allow, reads_clinical
from clinic.audit.services import record_read
from clinic.database.moments import moment_at
from clinic.sites.models import Site
from planning.booking_advice import ASK_INJECTOR
from records.appointments.forms.booking import TimesForm
from records.appointments.forms.times import OWN_TIME
from records.appointments.models import start_of
from records.appointments.queries.advice import advice_for
from records.appointments.queries.slots import STEP_MINUTES, Fit, FitDay, Wanted, nearest, next_days
from records.patients.models import Patient

NOON = time(12)
SUGGESTED = 4
MOST_VISITS = 5
# More than a day has starts.
ALL = 24 * 60 // STEP_MINUTES


@allow(*EVERYONE)
@require_GET
def appointment_times(request: HttpRequest) -> HttpResponse:
    """The times that fit what is filled in so far, for the page that books or moves."""
    asked = TimesForm(request.GET)
    chosen = request.GET.get("slot", "")
    context = times_context(asked, reader=request.user, chosen=chosen, is_fragment=True)
    if patient := asked.cleaned_data.get("patient"):
        note_read(request, patient)
    return render(request, "appointments/_times.html", context)


def note_read(request: HttpRequest, patient: Patient) -> None:
    """What booking asks about is read from the record: days of treatment, the desk's notes."""
    record_read(request.user, patient, patient_id=patient.pk, action="booking.read")


def times_context(
    asked: TimesForm,
    *,
    reader,
    chosen: str,
    near: datetime | None = None,
    is_fragment: bool = False,
) -> Mapping[str, Any]:
    """
    Context of appointments/_times.html: days with times, and what to know about them.

    A page has its first time chosen until a person chooses (`offered`, what it had chosen before).
    What they chose stays while it fits; when it no longer does, or was lost to somebody, nothing is
    chosen for them.
    """
    asked.is_valid()
    if not asked.cleaned_data.get("patient"):
        return {"days": [], "advice": [], "asked": asked}
    wanted = asked.wanted()
    days = next_days(wanted, chosen=chosen)
    days = _without_own(_opened(days, wanted, asked.cleaned_data.get("whole")), wanted)
    target = asked.cleaned_data.get("target")
    alternatives = nearest(_anybody(wanted), near) if near else []
    suggested = [] if near else _suggested(wanted, asked)
    first = next((fit for fit in alternatives or suggested or (days[0].fits if days else [])), None)
    fits = [*suggested, *(fit for one in days for fit in one.fits)]
    offered = ""
    if not near and _is_untouched(asked, chosen, is_fragment=is_fragment):
        chosen = offered = first.value if first else OWN_TIME
    kept = _kept(chosen, fits)
    day = first.day if first else wanted.first
    return {
        "asked": asked,
        "looked_from": wanted.first,
        "target": target,
        "target_has_passed": target is not None and target < timezone.localdate(),
        "suggested": suggested,
        "wanted": wanted,
        "days": days,
        "beyond": bool(asked.cleaned_data.get("look_until")) and not days,
        "alternatives": alternatives,
        "chosen": "" if near else kept,
        "gone": _time_of(chosen) if chosen and not kept and not near else None,
        "own": OWN_TIME,
        "offered": offered,
        "many_sites": Site.objects.has_several(),
        **({} if wanted.moving else _on_record(wanted, day, reader)),
    }


def _on_record(wanted: Wanted, day: date, reader) -> Mapping[str, Any]:
    """
    What to know of the patient before a visit is booked. Who reads clinical detail is shown the
    open adverse events; the others are told to ask.
    """
    patient = cast(Patient, wanted.patient)
    advice = advice_for(patient, wanted.kind.kind, day)
    events: Iterable = ()
    if ASK_INJECTOR in advice and reads_clinical(reader):
        advice.remove(ASK_INJECTOR)
        events = patient.adverse_events.still_open().order_by("onset_on", "id")
    to_come = patient.appointments.agreed().filter(starts_at__gte=start_of(timezone.localdate()))
    return {
        "advice": advice,
        "open_events": events,
        "has_visits": to_come.select_related("practitioner").order_by("starts_at")[:MOST_VISITS],
    }


def _suggested(wanted: Wanted, asked: TimesForm) -> list[Fit]:
    """The times nearest to the day it is due, or to the time from which it is moved."""
    if wanted.moving:
        fits = nearest(wanted, wanted.moving.starts_at, SUGGESTED)
        return [fit for fit in fits if not _is_own(fit, wanted)][: SUGGESTED - 1]
    target = asked.cleaned_data.get("target")
    if target is None:
        return []
    return nearest(wanted, moment_at(max(target, timezone.localdate()), NOON), SUGGESTED)


def _opened(days: list[FitDay], wanted: Wanted, whole: date | None) -> list[FitDay]:
    """The days, the one that is to be seen whole with all its times."""
    if whole is None:
        return days
    of_day = replace(wanted, first=whole, last=whole)
    return [
        every
        for one in days
        for every in (next_days(of_day, days=1, per_day=ALL) if one.day == whole else [one])
    ]


def _without_own(days: list[FitDay], wanted: Wanted) -> list[FitDay]:
    """Without the time that a visit which is moved has already."""
    others = (
        replace(one, fits=[fit for fit in one.fits if not _is_own(fit, wanted)]) for one in days
    )
    return [one for one in others if one.fits]


def _is_own(fit: Fit, wanted: Wanted) -> bool:
    held = wanted.moving
    return held is not None and (fit.starts_at, fit.practitioner.pk, wanted.minutes) == (
        held.starts_at,
        held.practitioner_id,
        held.minutes,
    )


def _is_untouched(asked: TimesForm, chosen: str, *, is_fragment: bool) -> bool:
    """Whether the choice is the page's own, or there was none to make."""
    return chosen == asked.cleaned_data.get("offered") if chosen else not is_fragment


def _kept(chosen: str, fits: Sequence[Fit]) -> str:
    """What stands for the choice: itself, else its time with its person, else its time."""
    if chosen in ("", OWN_TIME):
        return chosen
    same_time = [fit for fit in fits if fit.is_at(chosen)]
    person = chosen.split("|")[1:2]
    ranked = sorted(
        same_time, key=lambda fit: (fit.value != chosen, fit.value.split("|")[1:2] != person)
    )
    return ranked[0].value if ranked else ""


def _time_of(chosen: str) -> datetime | None:
    try:
        return datetime.fromisoformat(chosen.partition("|")[0])
    except ValueError:
        return None


def _anybody(wanted: Wanted) -> Wanted:
    """
    Whoever lost a time is shown others' times as well, after those of the one asked for. A visit
    that is moved stays with whom it was given to: that is said, not chosen in passing.
    """
    if wanted.moving:
        return wanted
    return replace(wanted, only=None, first_choice=wanted.only or wanted.first_choice)
