"""Occlusion logs that nobody ended, as cases of the follow-up list: one query."""

from collections.abc import Iterator
from datetime import datetime
from typing import NamedTuple

from django.db.models import QuerySet
from django.utils import timezone

from planning.follow_up import Case, Kind, Way
from planning.review_dates import ReviewState
from records.follow_up.queries.found import Asked, Found, Person
from records.occlusions.models import Occlusion
from records.occlusions.queries import running

SOURCE = "occlusion"
# A vessel may be blocked at this very moment: before an adverse event of any grade.
WEIGHT = 6
_SESSION = "session__"
_PATIENT = f"{_SESSION}patient__"
_COLUMNS = (
    "pk", "at", f"{_SESSION}patient_id", f"{_PATIENT}record_number", f"{_PATIENT}full_name",
    f"{_PATIENT}phone", f"{_PATIENT}email", f"{_PATIENT}address", f"{_PATIENT}preferred_channel",
    f"{_SESSION}injector_id", f"{_SESSION}injector__full_name",
)  # fmt: skip


class Running(NamedTuple):
    """One row as it is read."""

    pk: int
    at: datetime
    patient_id: int
    record_number: str
    patient: str
    phone: str
    email: str
    address: str
    prefers: str
    injector_id: int
    injector: str


def running_logs(asked: Asked) -> Iterator[Found]:
    """Every log that runs; it leaves the list when it is ended, which makes an adverse event."""
    for values in _of(asked).order_by("pk").values_list(*_COLUMNS):
        row = Running(*values)
        case = Case(
            kind=Kind.COMPLICATION,
            source=SOURCE,
            pk=row.pk,
            state=ReviewState.DUE,
            deadline_on=timezone.localdate(row.at),
            weight=WEIGHT,
            prefers=Way(row.prefers),
            phone=row.phone,
            email=row.email,
            address=row.address,
        )
        person = Person(row.patient_id, row.record_number, row.patient)
        yield Found(case, person, row.injector_id, row.injector, row)


def _of(asked: Asked) -> QuerySet[Occlusion]:
    if asked.injector_id is None:
        return running()
    return running().filter(session__injector=asked.injector_id)
