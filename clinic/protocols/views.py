"""The clinic's protocol for a blocked vessel: read by who treats, written by the owner."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from clinic.access.enums import Role
from clinic.access.rules import CLINICAL, allow
from clinic.protocols.errors import ProtocolMoved
from clinic.protocols.forms import ProtocolForm, StepForms, step_forms
from clinic.protocols.models import Protocol
from clinic.protocols.queries import current_protocol, of_version
from clinic.protocols.services import save_protocol
from planning.occlusion_protocol import ADAPT


@allow(*CLINICAL)
@require_GET
def protocol(request: HttpRequest) -> HttpResponse:
    """The one that holds now, and the versions before it."""
    current = current_protocol()
    context = {"current": current, "is_current": True, **_around(request)}
    return render(request, "protocols/protocol.html", context)


@allow(*CLINICAL)
@require_GET
def protocol_version(request: HttpRequest, number: int) -> HttpResponse:
    """One version as it was saved."""
    found = get_object_or_404(Protocol.objects.select_related("saved_by"), number=number)
    newest = Protocol.objects.first()
    context = {"current": of_version(found), "is_current": found == newest, **_around(request)}
    return render(request, "protocols/protocol.html", context)


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def protocol_edit(request: HttpRequest) -> HttpResponse:
    """Write the next version, starting from the one that holds."""
    current = current_protocol()
    if request.method == "POST":
        form, rows = ProtocolForm(request.POST), StepForms(request.POST, prefix="step")
        if all([form.is_valid(), rows.is_valid()]):
            try:
                saved = save_protocol(
                    protocol=form.save(commit=False), steps=rows.steps,
                    seen=form.cleaned_data["seen"], actor=request.user,
                )  # fmt: skip
            except ProtocolMoved as error:
                form.add_error(None, str(error))
                # Sent again, it is saved over the version that is told of.
                form.data = again = request.POST.copy()
                again["seen"] = str(current.stored.number)
            else:
                messages.success(request, f"The protocol is saved as version {saved.number}.")
                return redirect("protocol")
    else:
        form = ProtocolForm(instance=current.stored, initial={"seen": current.stored.number})
        rows = step_forms(current.steps)
    context = {"form": form, "rows": rows, "current": current, "adapt": ADAPT}
    status = 422 if request.method == "POST" else 200
    return render(request, "protocols/edit.html", context, status=status)


def _around(request: HttpRequest) -> dict:
    return {
        "versions": Protocol.objects.select_related("saved_by"),
        "may_edit": Role.OWNER in request.user.roles,  # type: ignore[union-attr]
        "adapt": ADAPT,
    }
