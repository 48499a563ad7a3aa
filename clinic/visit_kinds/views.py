"""The kinds of visit, all on one page, kept by the practice owner."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.visit_kinds.forms import kind_forms, refuse_none_offered
from clinic.visit_kinds.services import save_visit_kinds


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def kind_list(request):
    """How long each kind takes and where it can be; all of them are saved together."""
    forms = kind_forms(request.POST or None)
    status = 200
    if request.method == "POST":
        if all(form.is_valid() for form in forms) and not refuse_none_offered(forms):
            kinds = [(form.save(commit=False), form.chosen_rooms) for form in forms]
            save_visit_kinds(kinds=kinds, actor=request.user)
            messages.success(request, "The visit kinds are saved. Visits that are booked stay so.")
            return redirect("visit-kind-list")
        status = 422
    return render(request, "visit_kinds/list.html", {"forms": forms}, status=status)
