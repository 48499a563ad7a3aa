"""The call list and the pull list: filled from the record, and added to when more is found."""

from datetime import datetime

from django.utils import timezone

from clinic.audit.services import acting
from clinic.stock.models import UnitOfStock
from records.recalls.errors import CaseClosed, RecallError
from records.recalls.models import CasePatient, CaseUnit, RecallCase
from records.recalls.queries.extent import Extent, extent_of
from records.recalls.queries.people import missing_patients
from records.recalls.services.locking import lock_open

NAMED = 3


def refresh_call_list(
    case: RecallCase, *, actor, extent: Extent | None = None, at: datetime | None = None
) -> int:
    """
    Put everybody on the call list who got something of the case and is not on it yet: all of them
    when it is opened, and later those whom a point that arrived late affects.

    Without anybody to add it is two queries and no lock.

    Args:
        extent: what the case reaches, if that is known.
        at: when they were found, if not now.

    Returns:
        How many were added.
    """
    extent = extent or extent_of(case)
    if not missing_patients(case, extent):
        return 0
    with acting(actor) as trail:
        stored = lock_open(case.pk)
        missing = missing_patients(stored, extent)
        found_at = at or timezone.now()
        CasePatient.objects.bulk_create(
            CasePatient(case=stored, patient_id=patient, added_at=found_at) for patient in missing
        )
        for patient in missing:
            trail.add("recall.person_listed", stored, patient_id=patient)
    return len(missing)


def refresh_pull_list(case: RecallCase, *, actor, extent: Extent | None = None) -> int:
    """The same for units that are still in the house: found at a count, or named later."""
    extent = extent or extent_of(case)
    if not _missing_units(case, extent):
        return 0
    with acting(actor) as trail:
        stored = lock_open(case.pk)
        missing = _missing_units(stored, extent)
        CaseUnit.objects.bulk_create(CaseUnit(case=stored, unit=unit) for unit in missing)
        trail.add("recall.units_listed", stored, after={"units": [unit.label for unit in missing]})
    return len(missing)


def catch_up(case: RecallCase, *, actor, extent: Extent) -> None:
    """Both lists of a case that somebody looks at; one that is closed meanwhile stays as it is."""
    if not case.is_open:
        return
    try:
        refresh_call_list(case, actor=actor, extent=extent)
        refresh_pull_list(case, actor=actor, extent=extent)
    except CaseClosed:
        case.refresh_from_db()


def _missing_units(case: RecallCase, extent: Extent) -> list[UnitOfStock]:
    listed = CaseUnit.objects.filter(case=case).values("unit")
    here = extent.units().with_something_left().exclude(pk__in=listed)
    return list(here.order_by("pk"))


def complete_list(*, case: RecallCase, actor) -> RecallCase:
    """
    Say that the call list is complete, which stops its watch. Late ones are looked for first.

    Raises:
        RecallError: it was called complete already, or somebody on it has neither telephone, e-mail
            nor address, and nobody has written down why.
    """
    with acting(actor) as trail:
        stored = lock_open(case.pk)
        if stored.list_at is not None:
            raise RecallError("The call list was called complete already.")
        refresh_call_list(stored, actor=actor)
        without = stored.people.without_a_way().select_related("patient").order_by("pk")
        if stuck := list(without[: NAMED + 1]):
            raise RecallError(_no_way(stuck))
        stored.list_at, stored.list_by = timezone.now(), actor
        stored.save(update_fields=["list_at", "list_by"])
        trail.add("recall.list_complete", stored, after={"people": stored.people.count()})
    return stored


def _no_way(stuck: list[CasePatient]) -> str:
    numbers = ", ".join(person.patient.record_number for person in stuck[:NAMED])
    more = " and others" if len(stuck) > NAMED else ""
    return (
        f"The list is not complete: {numbers}{more} can be reached in no way. Open each, add "
        "telephone, e-mail or address, or write down why there is none."
    )
