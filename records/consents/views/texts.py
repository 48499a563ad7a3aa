"""The clinic's consent texts: the owner writes them, everybody prints them to take home."""

import re

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_safe

from clinic.access.enums import Role
from clinic.access.rules import EVERYONE, allow
from planning.consents import ConsentKind
from planning.sources import CONSENT_VALIDITY
from records.consents.errors import ConsentError
from records.consents.forms import RiskRows, TextForm
from records.consents.papers import blank_paper
from records.consents.queries import TextShown, text_in_force, text_of
from records.consents.services import save_text
from records.consents.supplied import ADAPT
from records.consents.views.consents import kind_named


@allow(Role.OWNER)
@require_GET
def text_list(request: HttpRequest) -> HttpResponse:
    texts = [text_in_force(kind) for kind in ConsentKind]
    return render(request, "consents/text_list.html", {"texts": texts, "adapt": ADAPT})


@allow(Role.OWNER)
@require_http_methods(["GET", "POST"])
def text_edit(request: HttpRequest, kind: str) -> HttpResponse:
    """Write a new version; what patients agreed to stays as it was."""
    which = kind_named(kind)
    text = text_in_force(which)
    typed = request.POST if request.method == "POST" else None
    shown = {"version": text.version, **text.wording._asdict()}
    form = TextForm(typed, initial=shown)
    rows = RiskRows(typed, prefix="risks", initial=[risk._asdict() for risk in text.wording.risks])
    if typed is not None and form.is_valid() and rows.is_valid():
        try:
            save_text(
                kind=which, seen=form.cleaned_data["version"], wording=form.wording(rows.risks),
                actor=request.user,
            )  # fmt: skip
        except ConsentError as error:
            form.add_error(None, str(error))
        else:
            messages.success(
                request, "The new version is in force. Consents to the one before are asked anew."
            )
            return redirect("consent-text-list")
    context = {
        "form": form,
        "rows": rows,
        "text": text,
        "adapt": ADAPT,
        "validity": CONSENT_VALIDITY,
    }
    is_wrong = typed is not None
    return render(request, "consents/text_form.html", context, status=422 if is_wrong else 200)


@allow(*EVERYONE)
@require_safe
def text_paper(request: HttpRequest, kind: str) -> HttpResponse:
    """The text as PDF, to read at home and think about; `?version=` for an earlier one."""
    which = kind_named(kind)
    text: TextShown | None = text_in_force(which)
    if asked := request.GET.get("version", ""):
        text = text_of(which, int(asked)) if re.fullmatch("[0-9]{1,4}", asked) else None
    if text is None:
        raise Http404
    response = HttpResponse(blank_paper(text), content_type="application/pdf")
    name = f"consent-text-{which}-version-{text.version}"
    response["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    return response
