"""What the pages of one case have in common."""

from dataclasses import dataclass

from django.http import HttpRequest
from django.shortcuts import get_object_or_404
from django.utils import timezone

from records.recalls.models import RecallCase
from records.recalls.queries.extent import Extent, extent_of
from records.recalls.queries.progress import laps_of, progress_of
from records.recalls.services.lists import catch_up


@dataclass(frozen=True)
class CasePage:
    """A case that somebody looks at: its lists hold what was found up to now."""

    case: RecallCase
    extent: Extent

    def context(self, **more) -> dict:
        return case_context(self.case) | more


def case_context(case: RecallCase) -> dict:
    """What stands at the head of each page of the case, and in its stopwatch."""
    progress = progress_of(case)
    return {
        "case": case,
        "progress": progress,
        "laps": laps_of(case, progress, timezone.now()),
        "units_here": case.units.still_here().count(),
    }


def find_case(pk: int) -> RecallCase:
    cases = RecallCase.objects.select_related("opened_by", "list_by", "closed_by")
    return get_object_or_404(cases, pk=pk)


def look_at(request: HttpRequest, pk: int) -> CasePage:
    """The case, after what was found since was put on its lists."""
    case = find_case(pk)
    extent = extent_of(case)
    catch_up(case, actor=request.user, extent=extent)
    return CasePage(case, extent)
