"""
Writes to hours and absences. Each act is one transaction with its audit events.

What was worked before stays as it was: a change from some day on ends the hours of before on the
day before and adds new ones.
"""

from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from clinic.audit.services import Trail, acting, changes, snapshot
from clinic.hours.errors import AlreadyAway, HoursOverlap, NothingToCopy
from clinic.hours.models import WEEKDAYS, Absence, WorkingTime
from clinic.staff.models import User
from planning.review_dates import day_in_words

TIME_FIELDS = ["person", "site", "weekday", "starts", "ends", "from_on", "until_on"]
ABSENCE_FIELDS = ["person", "room", "kind", "starts_at", "ends_at", "note"]
_DAY = timedelta(days=1)


def add_working_times(*, times: Sequence[WorkingTime], actor) -> None:
    """
    Add hours of one person.

    Raises:
        HoursOverlap: they overlap with other hours of the person, or with one another.
    """
    with acting(actor) as trail:
        _lock(times[0].person_id)
        for row in times:
            _add(row, trail)


def change_working_time(*, time: WorkingTime, actor) -> WorkingTime:
    """
    Change hours from their (new) first day on. Where that is later than it was, the hours of before
    end on the day before it and stay; otherwise they are corrected.

    Raises:
        HoursOverlap: they would overlap with other hours of the person.
    """
    with acting(actor) as trail:
        _lock(time.person_id)
        stored = WorkingTime.objects.get(pk=time.pk)
        if stored.from_on < time.from_on:
            _end(stored, time.from_on - _DAY, trail)
            time.pk = None
            time._state.adding = True
            _add(time, trail)
            return time
        _refuse_overlap(time)
        time.save()
        before, after = changes(snapshot(stored, TIME_FIELDS), snapshot(time, TIME_FIELDS))
        if after:
            trail.add("working_time.changed", time, before=before, after=after)
    return time


def end_working_time(*, time: WorkingTime, last_on: date, actor) -> None:
    """The hours are worked up to `last_on`; those that would begin later are removed."""
    with acting(actor) as trail:
        _lock(time.person_id)
        _end(WorkingTime.objects.get(pk=time.pk), last_on, trail)


def copy_day(
    *, person: User, weekday: int, to: Iterable[int], from_on: date, actor
) -> list[WorkingTime]:
    """
    Give other weekdays the hours that `weekday` has on and after `from_on`, instead of theirs.

    Raises:
        NothingToCopy: the weekday has no hours then.
    """
    with acting(actor) as trail:
        _lock(person.pk)
        rows = list(person.working_times.not_over_by(from_on).filter(weekday=weekday))
        if not rows:
            day = dict(WEEKDAYS)[weekday]
            raise NothingToCopy(f"{day} has no hours from {day_in_words(from_on)} on.")
        copies = []
        for target in to:
            for row in person.working_times.not_over_by(from_on).filter(weekday=target):
                _end(row, from_on - _DAY, trail)
            copies += [
                WorkingTime(
                    person=person, site_id=row.site_id, weekday=target, starts=row.starts,
                    ends=row.ends, from_on=max(row.from_on, from_on), until_on=row.until_on,
                )
                for row in rows
            ]  # fmt: skip
        for copy in copies:
            _add(copy, trail)
    return copies


def save_absence(*, absence: Absence, actor) -> Absence:
    """
    Add or change an absence; visits that are booked then stay booked.

    Raises:
        AlreadyAway: the person or room has another absence of this kind then.
    """
    with acting(actor) as trail:
        if absence.person_id:
            _lock(absence.person_id)
        _refuse_second(absence)
        stored = Absence.objects.select_for_update().filter(pk=absence.pk).first()
        before = snapshot(stored, ABSENCE_FIELDS) if stored else {}
        absence.save()
        before, after = changes(before, snapshot(absence, ABSENCE_FIELDS))
        if after:
            trail.add("absence.saved", absence, before=before, after=after)
    return absence


def remove_absence(*, absence: Absence, actor) -> None:
    """The person or room is there again; the audit trail keeps what was removed."""
    with acting(actor) as trail:
        trail.add("absence.removed", absence, before=snapshot(absence, ABSENCE_FIELDS))
        absence.delete()


def _refuse_second(absence: Absence) -> None:
    others = Absence.objects.between(absence.starts_at, absence.ends_at).exclude(pk=absence.pk)
    other = others.filter(person=absence.person_id, room=absence.room_id, kind=absence.kind).first()
    if other is not None:
        raise AlreadyAway(
            f"{absence.person or absence.room} is away then already: {other.in_words}, "
            f"{day_in_words(other.first_day)} to {day_in_words(other.last_day)}. Change that "
            "absence, or choose other days."
        )


def _lock(person_id: int) -> None:
    """Whoever changes hours of one person waits here for the other who does."""
    User.objects.select_for_update(no_key=True).get(pk=person_id)


def _add(row: WorkingTime, trail: Trail) -> None:
    _refuse_overlap(row)
    row.save()
    trail.add("working_time.added", row, after=snapshot(row, TIME_FIELDS))


def _end(row: WorkingTime, last_on: date, trail: Trail) -> None:
    if row.until_on is not None and row.until_on <= last_on:
        return
    before = snapshot(row, TIME_FIELDS)
    if row.from_on > last_on:
        trail.add("working_time.removed", row, before=before)
        row.delete()
        return
    row.until_on = last_on
    row.save(update_fields=["until_on"])
    before, after = changes(before, snapshot(row, TIME_FIELDS))
    trail.add("working_time.ended", row, before=before, after=after)


def _refuse_overlap(row: WorkingTime) -> None:
    other = WorkingTime.objects.overlapping(row).select_related("site").first()
    if other is not None:
        until = f" to {day_in_words(other.until_on)}" if other.until_on else " on"
        raise HoursOverlap(
            f"There are hours already on {other.get_weekday_display()}s from {other.starts:%H:%M} "
            f"to {other.ends:%H:%M} at {other.site}, from {day_in_words(other.from_on)}{until}. "
            "Change those hours, or choose others."
        )
