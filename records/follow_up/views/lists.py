"""The follow-up list, on the screen and for paper."""

from django.core.paginator import Page, Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from clinic.access.rules import EVERYONE, allow, reads_clinical
from clinic.audit.services import acting
from clinic.policy.queries import current_policy, review_rule
from records.follow_up.forms import FollowUpFilter
from records.follow_up.queries.progress import progress_of_day
from records.follow_up.queries.work_list import Row, follow_up
from records.patients.models import Patient

# It is worked from the top, and comes anew after each act.
PER_PAGE = 20
# Some twenty sheets: more than a desk calls in a day.
PER_PAPER = 300


@allow(*EVERYONE)
@require_GET
def follow_up_list(request: HttpRequest) -> HttpResponse:
    """Everybody the clinic has to turn to, the most urgent first."""
    policy, clinical = current_policy(), reads_clinical(request.user)
    asked = FollowUpFilter(request.GET, clinical=clinical)
    chosen = asked.chosen
    followed = follow_up(policy, clinical=clinical, **chosen)
    on_paper = asked.cleaned_data.get("paper")
    # Its length and slices are all that a paginator asks for.
    pages: Paginator = Paginator(followed, PER_PAPER if on_paper else PER_PAGE)  # type: ignore[arg-type]
    page: Page = pages.get_page(request.GET.get("page"))
    if on_paper:
        _record_printed(request, page.object_list)  # type: ignore[arg-type]
    context = {
        "policy": policy,
        "usual": str(review_rule(policy).interval),
        "asked": asked,
        "chosen": chosen,
        "on_paper": on_paper,
        "on": followed.asked.on,
        "now": followed.asked.now,
        "tabs": list(followed.counts.items()),
        "total": followed.total,
        "progress": progress_of_day(followed),
        "page_obj": page,
        "rows": page.object_list,
    }
    return render(request, "follow_up/list.html", context)


def _record_printed(request: HttpRequest, rows: list[Row]) -> None:
    """Each patient's trail tells that their details were put on paper."""
    with acting(request.user) as trail:
        for pk in {row.person.pk for row in rows}:
            trail.add("follow_up.printed", Patient(pk=pk), patient_id=pk)
