"""What the owner decides about messages: whether, when, and in which words."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.policy.queries import current_policy
from planning.merging import fill
from planning.text_messages import length_of
from records.reminders.enums import MessageKind, MessageRoute
from records.reminders.errors import ReminderError
from records.reminders.forms import MessageTemplateForm, ReminderPolicyForm
from records.reminders.models import MessageTemplate
from records.reminders.queries import reminder_policy, stays_here
from records.reminders.services.owning import (
    drop_template,
    leaves_out_link,
    save_reminder_policy,
    save_template,
)
from records.reminders.wording import (
    DEFAULTS,
    LINK,
    ROUTES,
    example_words,
    placeholders_for,
    wording_of,
)

WITHOUT_LINK = "Whoever gets it can answer by telephone alone."


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def policy_edit(request: HttpRequest) -> HttpResponse:
    form = ReminderPolicyForm(request.POST or None, instance=reminder_policy())
    if request.method == "POST" and form.is_valid():
        try:
            save_reminder_policy(policy=form.save(commit=False), actor=request.user)
        except ReminderError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, "Saved.")
            return redirect("reminder-policy")
    status = 422 if form.errors else 200
    context = {"form": form, "quiet": current_policy().quiet, "stays_here": stays_here()}
    return render(request, "reminders/policy.html", context, status=status)


@allow(Role.OWNER)
@require_GET
def template_list(request: HttpRequest) -> HttpResponse:
    own = {(row.kind, row.route) for row in MessageTemplate.objects.all()}
    rows = [
        (kind, [(route, (kind.value, route.value) in own) for route in ROUTES])
        for kind in MessageKind
    ]
    return render(request, "reminders/template_list.html", {"rows": rows})


@allow(Role.OWNER)
@require_http_methods(["GET", "POST"])
def template_edit(request: HttpRequest, kind: str, route: str) -> HttpResponse:
    which = _which(kind, route)
    stored = MessageTemplate.objects.filter(kind=kind, route=route).first()
    wording = wording_of(*which)
    form = MessageTemplateForm(
        request.POST or None, instance=stored or MessageTemplate(kind=kind, route=route),
        kind=which[0], route=which[1], initial=wording._asdict(),
    )  # fmt: skip
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        save_template(
            kind=which[0], route=which[1], subject=typed.get("subject", ""), text=typed["text"],
            actor=request.user,
        )  # fmt: skip
        messages.success(request, "The words are saved. Messages that were sent keep theirs.")
        if leaves_out_link(which[0], typed["text"]):
            messages.warning(request, f"The words have no {{{LINK}}}. {WITHOUT_LINK}")
        return redirect("message-template-list")
    shown = {name: form[name].value() or "" for name in form.fields}
    context = {
        "form": form,
        "kind": which[0],
        "route": which[1],
        "is_own": stored is not None,
        "words": placeholders_for(which[0]),
        **preview(*which, shown.get("subject", ""), shown["text"]),
    }
    status = 422 if form.errors else 200
    return render(request, "reminders/template_form.html", context, status=status)


@allow(Role.OWNER)
@require_POST
def template_preview(request: HttpRequest, kind: str, route: str) -> HttpResponse:
    """What is being typed, as an invented patient would read it."""
    typed = request.POST
    shown = preview(*_which(kind, route), typed.get("subject", ""), typed.get("text", ""))
    return render(request, "reminders/_preview.html", shown)


@allow(Role.OWNER)
@require_POST
def template_drop(request: HttpRequest, kind: str, route: str) -> HttpResponse:
    """Back to the words that come with the program."""
    which = _which(kind, route)
    drop_template(kind=which[0], route=which[1], actor=request.user)
    messages.success(request, "The words that come with the program hold again.")
    return redirect("message-template-edit", kind=kind, route=route)


def _which(kind: str, route: str) -> tuple[MessageKind, MessageRoute]:
    try:
        which = MessageKind(kind), MessageRoute(route)
    except ValueError as error:
        raise Http404 from error
    if which not in DEFAULTS:
        raise Http404
    return which


class _Examples(dict[str, str]):
    """What cannot be filled stays as it is; saving says why."""

    def __missing__(self, name: str) -> str:
        return f"{{{name}}}"


def preview(kind: MessageKind, route: MessageRoute, subject: str, text: str) -> dict:
    """Context of reminders/_preview.html."""
    words = _Examples(example_words(kind, current_policy()))
    filled = fill(text.replace("\r\n", "\n"), words)
    is_text = route == MessageRoute.SMS
    return {
        "subject": "" if is_text else fill(subject, words),
        "text": filled,
        "length": length_of(filled) if is_text else None,
        "hint": WITHOUT_LINK if leaves_out_link(kind, text) else "",
    }
