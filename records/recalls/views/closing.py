"""Closing a case."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from clinic.access.enums import Role
from clinic.access.rules import allow
from records.recalls.errors import CaseClosed, StillOpen
from records.recalls.forms.closing import CloseForm
from records.recalls.queries.closing import open_things
from records.recalls.services.closing import close_case
from records.recalls.views.shared import look_at


@allow(Role.OWNER)
@require_http_methods(["GET", "POST"])
def recall_close(request: HttpRequest, pk: int) -> HttpResponse:
    """What is still open, a word about each, and the signature that ends it."""
    page = look_at(request, pk)
    if not page.case.is_open:
        messages.error(request, f"{page.case} is closed already.")
        return redirect("recall-detail", pk)
    things = open_things(page.case, page.extent)
    sent = request.POST if request.method == "POST" else None
    form = CloseForm(sent, things=things, signer=request.user)
    if sent is not None and form.is_valid():
        try:
            close_case(
                case=page.case, note=form.cleaned_data["note"], explanations=form.explanations,
                actor=request.user,
            )  # fmt: skip
        except StillOpen as refusal:
            # Something came up between the look at it and the signature.
            form.add_error(None, f"{refusal} Open the page again: it asks about it.")
        except CaseClosed as refusal:
            messages.error(request, str(refusal))
            return redirect("recall-detail", pk)
        else:
            messages.success(request, f"{page.case} is closed.")
            return redirect("recall-detail", pk)
    context = page.context(form=form, things=things)
    return render(request, "recalls/close.html", context, status=422 if form.errors else 200)
