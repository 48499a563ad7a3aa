"""What the demo clinic set up for its diary: rooms, kinds of visit, working hours, absences."""

from datetime import date, time, timedelta

from clinic.database.moments import moment_at
from clinic.hours.models import Absence, WorkingTime
from clinic.hours.services import add_working_times, save_absence
from clinic.rooms.models import Room
from clinic.rooms.services import save_room
from clinic.visit_kinds.models import VisitKind
from clinic.visit_kinds.services import save_visit_kinds
from records.demo.clinic import DemoClinic, fixture


def furnish(clinic: DemoClinic, today: date, *, since: date) -> None:
    """As of the clinic's opening, with what is known about the weeks after `today`."""
    data, owner = fixture("premises"), clinic.staff["owner"]
    rooms = {
        row["key"]: save_room(
            room=Room(site=clinic.sites[row["site"]], name=row["name"]), actor=owner
        )
        for row in data["rooms"]
    }
    kinds = [
        (VisitKind(**row), [rooms[key] for key in keys])
        for row in data["kinds"]
        for keys in [row.pop("rooms")]
    ]
    save_visit_kinds(kinds=kinds, actor=owner)
    for row in data["hours"]:
        add_working_times(times=_times(clinic, row, since), actor=owner)
    for row in data["absences"]:
        save_absence(absence=_absence(clinic, rooms, row, today), actor=owner)


def _times(clinic: DemoClinic, row: dict, since: date) -> list[WorkingTime]:
    return [
        WorkingTime(
            person=clinic.staff[row["person"]],
            site=clinic.sites[row["site"]],
            weekday=weekday,
            starts=time.fromisoformat(starts),
            ends=time.fromisoformat(ends),
            from_on=since,
        )
        for weekday in row["weekdays"]
        for starts, ends in row["spans"]
    ]


def _absence(clinic: DemoClinic, rooms: dict[str, Room], row: dict, today: date) -> Absence:
    first = today + timedelta(days=row["in_days"])
    return Absence(
        person=clinic.staff.get(row.get("person", "")),
        room=rooms.get(row.get("room", "")),
        kind=row["kind"],
        starts_at=moment_at(first),
        ends_at=moment_at(first + timedelta(days=row["days"])),
        note=row["note"],
    )
