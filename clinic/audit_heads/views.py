"""The heads of the audit trail, day by day, for the practice owner."""

from datetime import date

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET, require_safe

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.audit.services import record_read
from clinic.audit_heads.documents import head_pdf
from clinic.audit_heads.models import DailyHead
from clinic.policy.queries import current_policy

HEADS_PER_PAGE = 31


@allow(Role.OWNER)
@require_GET
def audit_head_list(request: HttpRequest) -> HttpResponse:
    """Newest first, from a day on."""
    before = _day(request.GET.get("before", ""))
    heads = DailyHead.objects.filter(day__lt=before) if before else DailyHead.objects.all()
    page = list(heads[: HEADS_PER_PAGE + 1])
    context = {
        "heads": page[:HEADS_PER_PAGE],
        "next_before": page[HEADS_PER_PAGE - 1].day if len(page) > HEADS_PER_PAGE else None,
        "is_first_page": before is None,
        "recipients": current_policy().head_recipients,
    }
    return render(request, "audit_heads/list.html", context)


@allow(Role.OWNER)
@require_safe
def audit_head_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """One page to sign and put away."""
    head = get_object_or_404(DailyHead, pk=pk)
    record_read(request.user, head, action="daily_head.printed")
    response = HttpResponse(head_pdf(head, current_policy()), content_type="application/pdf")
    name = f"audit-head-{head.day.isoformat()}.pdf"
    response["Content-Disposition"] = f'inline; filename="{name}"'
    return response


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None
