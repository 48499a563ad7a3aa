"""The owner's words: what a sheet advises after each kind of treatment."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.policy.queries import current_policy
from planning.aftercare import EMERGENCY_LINES, AftercareKind
from records.aftercare.errors import TextChanged
from records.aftercare.forms import AftercareTextForm
from records.aftercare.models import AftercareText
from records.aftercare.queries import section_of
from records.aftercare.services.texts import save_text


@allow(Role.OWNER)
@require_GET
def text_list(request: HttpRequest) -> HttpResponse:
    """Each kind as a sheet says it now."""
    context = {
        "sections": [section_of(kind) for kind in AftercareKind],
        "emergency_lines": EMERGENCY_LINES,
        "clinic": current_policy(),
    }
    return render(request, "aftercare/text_list.html", context)


@allow(Role.OWNER)
@require_http_methods(["GET", "POST"])
def text_edit(request: HttpRequest, kind: str) -> HttpResponse:
    """Write the next version of one kind."""
    which = _which(kind)
    section = section_of(which)
    form = AftercareTextForm(
        request.POST if request.method == "POST" else None,
        initial={
            "advice": "\n".join(section.advice),
            "signs": "\n".join(section.signs),
            "written_on": section.version,
        },
    )
    if request.method == "POST" and form.is_valid():
        try:
            save_text(kind=which, actor=request.user, **form.cleaned_data)
        except TextChanged as error:
            # What is sent next was typed in the knowledge of it.
            form.data = request.POST.copy()
            form.data["written_on"] = str(section.version)
            form.add_error(None, str(error))
        else:
            messages.success(request, "Saved. Sheets that were given keep their words.")
            return redirect("aftercare-text-list")
    context = {
        "form": form,
        "section": section,
        "versions": AftercareText.objects.filter(kind=which).select_related("written_by"),
        "emergency_lines": EMERGENCY_LINES,
    }
    status = 422 if form.errors else 200
    return render(request, "aftercare/text_form.html", context, status=status)


def _which(kind: str) -> AftercareKind:
    try:
        return AftercareKind(kind)
    except ValueError as error:
        raise Http404 from error
