"""The emergency kit: how it stands, and the owner's list of what belongs to it."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from clinic.access.enums import Role
from clinic.access.rules import CLINICAL, allow
from clinic.emergency_kit.forms import EmergencyItemForm
from clinic.emergency_kit.models import EmergencyItem
from clinic.emergency_kit.queries import kit_lines, lines_by_site
from clinic.emergency_kit.services import save_item
from clinic.policy.queries import current_policy
from planning.sources import EMERGENCY_ABILITY


@allow(*CLINICAL)
@require_GET
def kit(request: HttpRequest) -> HttpResponse:
    """What is there, what is missing and what expires, site by site."""
    policy = current_policy()
    lines = kit_lines(policy, timezone.localdate())
    context = {
        "sites": lines_by_site(lines),
        "problems": sum(line.state.needs_somebody for line in lines),
        "unused": EmergencyItem.objects.filter(is_active=False),
        "warning_days": policy.expiry_warning_days,
        "source": EMERGENCY_ABILITY,
    }
    return render(request, "emergency_kit/kit.html", context)


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def item_create(request: HttpRequest) -> HttpResponse:
    return _item_form(request, EmergencyItem())


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def item_edit(request: HttpRequest, pk: int) -> HttpResponse:
    items = EmergencyItem.objects.select_related("product", "site")
    return _item_form(request, get_object_or_404(items, pk=pk))


def _item_form(request: HttpRequest, item: EmergencyItem) -> HttpResponse:
    form = EmergencyItemForm(request.POST or None, instance=item)
    if request.method == "POST" and form.is_valid():
        saved = save_item(item=form.save(commit=False), actor=request.user)
        messages.success(request, f"{saved} is saved.")
        return redirect("emergency-kit")
    stored = EmergencyItem.objects.filter(pk=item.pk).first() if item.pk else None
    context = {"form": form, "item": stored}
    status = 422 if form.errors else 200
    return render(request, "emergency_kit/form.html", context, status=status)
