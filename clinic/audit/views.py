"""The audit trail for the practice owner."""

from django.shortcuts import render
from django.views.decorators.http import require_GET

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.audit.forms import TrailFilterForm
from clinic.audit.models import AuditHead
from clinic.audit.queries import events_shown, recent_actions, verify_chain
from clinic.audit.wording import told

EVENTS_PER_PAGE = 50
# What a page can check while somebody waits; the command checks any number.
MOST_ON_A_PAGE = 20_000


@allow(Role.OWNER)
@require_GET
def audit_list(request):
    """Who did what, newest first, page by page from a position on."""
    form = TrailFilterForm(request.GET, actions=recent_actions())
    wanted = form.wanted
    events = list(events_shown(**wanted)[: EVENTS_PER_PAGE + 1])
    page = events[:EVENTS_PER_PAGE]
    context = {
        "form": form,
        "events": told(page),
        "next_before": page[-1].id if len(events) > EVENTS_PER_PAGE else None,
        "patient_id": wanted["patient_id"],
        "is_first_page": wanted["before"] is None,
        "is_filtered": any(value for name, value in wanted.items() if name != "before"),
    }
    return render(request, "audit/audit_list.html", context)


@allow(Role.OWNER)
@require_GET
def audit_verify(request):
    """Check the chain here if it is short enough to wait for; else name the command."""
    head = AuditHead.objects.filter(id=1).first()
    count = head.count if head else 0
    verdict = verify_chain() if count <= MOST_ON_A_PAGE else None
    context = {"count": count, "verdict": verdict, "most": MOST_ON_A_PAGE}
    return render(request, "audit/audit_verify.html", context)
