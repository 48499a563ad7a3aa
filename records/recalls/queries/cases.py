"""All cases at a glance."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Count

from planning.recall_clock import Lap
from records.recalls.models import CaseSpan, CaseUnit, RecallCase
from records.recalls.queries.progress import Progress, laps_of, progress_by_case


@dataclass(frozen=True, slots=True)
class CaseRow:
    """One case of the list: what it names, how far it has got, and its stopwatch."""

    case: RecallCase
    spans: list[CaseSpan]
    progress: Progress
    units: int
    units_here: int
    laps: list[Lap]


def case_rows(cases: Iterable[RecallCase], now: datetime) -> list[CaseRow]:
    """
    The cases in their order.

    Three queries for all, and one more for each in which everybody is reached.
    """
    cases = list(cases)
    ids = [case.pk for case in cases]
    progress = progress_by_case(cases)
    spans: dict[int, list[CaseSpan]] = {pk: [] for pk in ids}
    for span in CaseSpan.objects.filter(case__in=ids).select_related("product").order_by("pk"):
        spans[span.case_id].append(span)
    units = _units_by_case(ids)
    return [
        CaseRow(
            case,
            spans[case.pk],
            standing := progress.get(case.pk, Progress()),
            *units.get(case.pk, (0, 0)),
            laps=laps_of(case, standing, now),
        )
        for case in cases
    ]


def _units_by_case(ids: list[int]) -> dict[int, tuple[int, int]]:
    """Units on the pull list and those of them that are still in the house, by the case's id."""
    listed = CaseUnit.objects.filter(case__in=ids).order_by().values_list("case_id")
    all_of_them = dict(listed.annotate(Count("pk")))
    here = dict(
        CaseUnit.objects.filter(case__in=ids)
        .still_here()
        .order_by()
        .values_list("case_id")
        .annotate(Count("pk"))
    )
    return {pk: (count, here.get(pk, 0)) for pk, count in all_of_them.items()}


def open_recalls() -> list[tuple[RecallCase, Progress]]:
    """Real cases that are not closed, the newest first, for the start page."""
    cases = list(RecallCase.objects.real().still_open())
    progress = progress_by_case(cases)
    return [(case, progress.get(case.pk, Progress())) for case in cases]
