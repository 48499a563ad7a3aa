"""People of open recalls who were not told yet, as cases of the follow-up list: two queries."""

from collections.abc import Iterator
from datetime import datetime
from typing import NamedTuple

from django.utils import timezone

from planning.follow_up import NO_TRIES, Case, Kind, Try, TryOutcome, Way
from planning.review_dates import ReviewState
from records.follow_up.queries.found import Asked, Found, Person, folded_by_key
from records.recalls.enums import ContactOutcome, RecallClass
from records.recalls.models import CaseContact, CasePatient

SOURCE = "recall"
# The higher class first; one that the notice does not state is taken for the middle one.
_WEIGHTS = {RecallClass.ONE: 3, RecallClass.TWO: 2, RecallClass.NOT_STATED: 2, RecallClass.THREE: 1}
_OUTCOMES = {
    ContactOutcome.SENT: TryOutcome.MESSAGE_LEFT,
    ContactOutcome.MESSAGE_LEFT: TryOutcome.MESSAGE_LEFT,
    ContactOutcome.NO_ANSWER: TryOutcome.NO_ANSWER,
    ContactOutcome.CAME_BACK: TryOutcome.WRONG,
    ContactOutcome.WRONG_DETAILS: TryOutcome.WRONG,
    ContactOutcome.INFORMED: TryOutcome.REACHED,
    ContactOutcome.REPLIED: TryOutcome.REACHED,
    ContactOutcome.DECLINED: TryOutcome.REACHED,
}
_COLUMNS = (
    "pk", "case_id", "case__number", "case__recall_class", "case__received_at", "patient_id",
    "patient__record_number", "patient__full_name", "patient__phone", "patient__email",
    "patient__address", "patient__preferred_channel",
)  # fmt: skip


class Untold(NamedTuple):
    """One row as it is read."""

    pk: int
    case_id: int
    number: str
    recall_class: str
    received_at: datetime
    patient_id: int
    record_number: str
    patient: str
    phone: str
    email: str
    address: str
    prefers: str


def untold_people(asked: Asked) -> Iterator[Found]:
    """
    Everybody of an open recall who was not reached; nobody of a drill.

    They are nobody's patients in particular: asked for one injector's, there is none.
    """
    if asked.injector_id is not None:
        return
    people = CasePatient.objects.filter(
        case__closed_at__isnull=True, case__is_drill=False
    ).with_reach()
    rows = [
        Untold(*values)
        for values in people.filter(is_reached=False).order_by("pk").values_list(*_COLUMNS)
    ]
    tries = folded_by_key(
        (pk, Try(Way(way), _OUTCOMES[ContactOutcome(outcome)], at))
        for pk, way, outcome, at in CaseContact.objects.filter(
            person__case__closed_at__isnull=True, person__case__is_drill=False
        )
        .order_by("id")
        .values_list("person_id", "channel", "outcome", "at")
    )
    for row in rows:
        case = Case(
            kind=Kind.RECALL,
            source=SOURCE,
            pk=row.pk,
            state=ReviewState.DUE,
            deadline_on=timezone.localdate(row.received_at),
            weight=_WEIGHTS[RecallClass(row.recall_class)],
            prefers=Way(row.prefers),
            phone=row.phone,
            email=row.email,
            address=row.address,
            tries=tries.get(row.pk, NO_TRIES),
        )
        yield Found(case, Person(row.patient_id, row.record_number, row.patient), None, "", row)
