"""The clinic's texts, and how one looks for an invented person."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.policy.queries import current_policy
from planning.merging import fill
from records.mailings.errors import MailingError
from records.mailings.forms import MailTemplateForm
from records.mailings.models import MailTemplate
from records.mailings.occasions import COMMON, example_words, occasions
from records.mailings.services.templates import save_template


@allow(Role.OWNER)
@require_GET
def template_list(request: HttpRequest) -> HttpResponse:
    templates = MailTemplate.objects.order_by("-is_active", "name")
    return render(request, "mailings/template_list.html", {"templates": templates})


@allow(Role.OWNER)
@require_http_methods(["GET", "POST"])
def template_create(request: HttpRequest) -> HttpResponse:
    return _form_page(request, MailTemplate())


@allow(Role.OWNER)
@require_http_methods(["GET", "POST"])
def template_edit(request: HttpRequest, pk: int) -> HttpResponse:
    return _form_page(request, get_object_or_404(MailTemplate, pk=pk))


def _form_page(request: HttpRequest, template: MailTemplate) -> HttpResponse:
    stored_name = template.name
    form = MailTemplateForm(request.POST or None, instance=template)
    if request.method == "POST" and form.is_valid():
        try:
            save_template(template=form.save(commit=False), actor=request.user)
        except MailingError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, f"{template.name} is saved.")
            return redirect("mail-template-list")
    context = {
        "form": form,
        "stored_name": stored_name,
        "common": COMMON,
        "occasions": occasions(),
        **preview(form["subject"].value() or "", form["body"].value() or ""),
    }
    status = 422 if form.errors else 200
    return render(request, "mailings/template_form.html", context, status=status)


@allow(Role.OWNER)
@require_POST
def template_preview(request: HttpRequest) -> HttpResponse:
    """What is being typed, as an invented person would read it."""
    shown = preview(request.POST.get("subject", ""), request.POST.get("body", ""))
    return render(request, "mailings/_preview.html", shown)


def preview(subject: str, body: str) -> dict:
    """Context of mailings/_preview.html. What cannot be filled stays as it is; saving says why."""
    words = _Examples(example_words(current_policy()))
    return {
        "subject": fill(subject, words),
        "body": fill(body, words),
        "day": timezone.localdate(),
    }


class _Examples(dict[str, str]):
    def __missing__(self, name: str) -> str:
        return f"{{{name}}}"
