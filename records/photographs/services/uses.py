"""What the patient agrees to have a photograph used for: given, ended, withdrawn."""

from collections.abc import Mapping
from datetime import date

from django.utils import timezone

from clinic.audit.services import acting, snapshot
from records.photographs.enums import Use
from records.photographs.errors import UseOver
from records.photographs.models import Photograph, PhotographUse
from records.photographs.services.locking import lock_photograph

USE_FIELDS = ["photograph", "use", "given_on", "until_on"]


def note_uses(
    *, photograph: Photograph, uses: Mapping[Use, date | None], actor
) -> list[PhotographUse]:
    """
    Note what the patient agrees to, each use with its last day or None. Each is a row of its own:
    what was agreed before stays as it was.

    Raises:
        PhotographGone: the photograph was taken out.
        UseOver: a last day lies before today.
    """
    today = timezone.localdate()
    for use, until_on in uses.items():
        if until_on is not None and until_on < today:
            raise UseOver(
                f"{use.label}: the last day {until_on:%d/%m/%Y} is over. Type today or a later "
                "day, or leave it empty."
            )
    with acting(actor) as trail:
        lock_photograph(photograph)
        given = []
        for use, until_on in uses.items():
            row = PhotographUse.objects.create(
                photograph=photograph, use=use, given_at=timezone.now(), given_on=today,
                noted_by=actor, until_on=until_on,
            )  # fmt: skip
            trail.add(
                "photograph_use.given", row, patient_id=photograph.patient_id,
                after=snapshot(row, USE_FIELDS),
            )  # fmt: skip
            given.append(row)
    return given


def withdraw_use(*, photograph: Photograph, use: Use, actor) -> int:
    """
    The patient takes an agreement back. Without the record there is nothing that could be used
    elsewhere, so withdrawing that withdraws all. Returns how many rows ended.

    Raises:
        UseOver: nothing stands that could be withdrawn.
    """
    with acting(actor) as trail:
        # Of one that was taken out as well: an agreement can always be taken back.
        Photograph.objects.select_for_update(of=("self",)).get(pk=photograph.pk)
        rows = photograph.uses.standing()
        if use is not Use.RECORD:
            rows = rows.filter(use=use)
        standing = list(rows.select_for_update())
        if not standing:
            raise UseOver(f"{use.label}: nothing stands that could be withdrawn.")
        for row in standing:
            row.withdrawn_at, row.withdrawn_by = timezone.now(), actor
            row.save(update_fields=["withdrawn_at", "withdrawn_by"])
            trail.add(
                "photograph_use.withdrawn", row, patient_id=photograph.patient_id,
                before=snapshot(row, USE_FIELDS),
            )  # fmt: skip
    return len(standing)
