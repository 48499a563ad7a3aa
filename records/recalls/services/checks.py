"""Drawing the sample of the effectiveness check, and writing down what came of each question."""

from typing import NamedTuple

from django.utils import timezone

from clinic.audit.services import acting
from planning.recall_checks import draw_sample
from records.recalls.enums import CheckResult
from records.recalls.errors import RecallError
from records.recalls.models import CaseCheck, RecallCase
from records.recalls.queries.checks import check_standing, seed_of
from records.recalls.services.locking import lock_real

_NOBODY = "nobody is asked, so there is no sample."


class Draw(NamedTuple):
    """How many were drawn just now, and how many before who stay in the sample."""

    added: int
    kept: int


def draw_checks(*, case: RecallCase, actor) -> Draw:
    """
    Draw whom to ask. Record numbers are ranked by their SHA-256 with the case's number and
    reference, so anybody can draw the same people again.

    Once results are written down the sample only grows: when more patients were found, those next
    in the ranking are added and everybody drawn before stays.

    Raises:
        OnlyADrill, CaseClosed: as every act on people of a case.
        RecallError: level E, nobody on the list, or a draw that would give nobody new.
    """
    with acting(actor) as trail:
        stored = lock_real(case.pk, refusal=_NOBODY)
        standing = check_standing(stored)
        if not standing.is_asked_for:
            raise RecallError("Level E asks for no check, so nobody is drawn.")
        if not standing.wanted:
            raise RecallError("Nobody is on the call list, so there is nobody to draw.")
        by_number = {person.patient.record_number: person
                     for person in stored.people.select_related("patient")}  # fmt: skip
        ranked = draw_sample(by_number, len(by_number), seed_of(stored))
        before = _numbers(stored)
        if not standing.figure.checked and before != ranked[: standing.wanted]:
            CaseCheck.objects.filter(person__case=stored).delete()
            before = []
        added = [number for number in ranked if number not in set(before)]
        added = added[: max(0, standing.wanted - len(before))]
        if not added:
            raise RecallError(
                "The sample is drawn: the same people would come out again. It grows when more "
                "patients are found."
            )
        CaseCheck.objects.bulk_create(
            CaseCheck(person=by_number[number], position=position)
            for position, number in enumerate(added, start=len(before) + 1)
        )
        stored.sampled_at = timezone.now()
        stored.save(update_fields=["sampled_at"])
        trail.add(
            "recall.sample_drawn", stored, before={"sample": before},
            after={"sample": [*before, *added]},
        )  # fmt: skip
    return Draw(len(added), len(before))


def _numbers(case: RecallCase) -> list[str]:
    drawn = CaseCheck.objects.filter(person__case=case).order_by("position")
    return list(drawn.values_list("person__patient__record_number", flat=True))


def record_check(*, check: CaseCheck, result: CheckResult, note: str, actor) -> CaseCheck:
    """
    Write down what came of asking one patient; until the case is closed it can be put right.

    Raises:
        OnlyADrill, CaseClosed: as every act on people of a case.
    """
    with acting(actor) as trail:
        person = check.person
        case = lock_real(person.case_id, refusal=_NOBODY)
        stored = CaseCheck.objects.select_for_update(of=("self",)).get(pk=check.pk)
        before = {"result": stored.result, "note": stored.note} if stored.result else None
        stored.result, stored.note = result, note.strip()
        stored.at, stored.by = timezone.now(), actor
        stored.save(update_fields=["result", "note", "at", "by"])
        trail.add(
            "recall.check_noted", case, patient_id=person.patient_id, before=before,
            after={"result": result, "note": stored.note},
        )  # fmt: skip
    return stored
