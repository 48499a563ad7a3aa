"""A mailing's page, from which the browser drives it step by step."""

from django.conf import settings
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_POST

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.audit.services import record_read
from records.mailings.enums import MailingChannel
from records.mailings.errors import MailingError, MailServerDown
from records.mailings.models import Mailing, MailingItem
from records.mailings.occasions import page_of
from records.mailings.queries import is_unclear, items_to_look_at, mailings_with_progress, progress
from records.mailings.services.deciding import take_as_sent, try_again, try_failed_again
from records.mailings.services.steps import write_next

MAILINGS_PER_PAGE = PEOPLE_PER_PAGE = 50


@allow(Role.OWNER)
@require_GET
def mailing_list(request: HttpRequest) -> HttpResponse:
    page = Paginator(Mailing.objects.select_related("started_by"), MAILINGS_PER_PAGE).get_page(
        request.GET.get("page")
    )
    context = {"page_obj": page, "rows": mailings_with_progress(page.object_list)}
    return render(request, "mailings/list.html", context)


@allow(Role.OWNER)
@require_GET
def mailing_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """Where the mailing stands; its letters; whom a person has to look at. Standing still."""
    mailing = get_object_or_404(Mailing.objects.select_related("started_by"), pk=pk)
    record_read(request.user, mailing)
    page = Paginator(items_to_look_at(mailing), PEOPLE_PER_PAGE).get_page(request.GET.get("page"))
    context = {
        **_standing(mailing),
        "back": page_of(mailing),
        "batches": mailing.batches.defer("pdf"),
        "page_obj": page,
        "rows": [(item, is_unclear(item)) for item in page.object_list],
    }
    return render(request, "mailings/detail.html", context)


@allow(Role.OWNER)
@require_POST
def mailing_step(request: HttpRequest, pk: int) -> HttpResponse:
    """One step; the answer asks for the next one by itself as long as something waits."""
    mailing = get_object_or_404(Mailing, pk=pk)
    problem = ""
    try:
        write_next(mailing=mailing, actor=request.user)
    except (MailServerDown, MailingError) as error:
        problem = str(error)
    if "HX-Request" not in request.headers:
        if problem:
            messages.error(request, problem)
        return redirect("mailing-detail", pk=pk)
    standing = _standing(mailing) | {"problem": problem}
    standing["is_running"] = not problem and not standing["stands"].is_at_end
    answer = render(request, "mailings/_progress.html", standing)
    if standing["stands"].is_at_end and not problem:
        # What is at the end, the letters and whom to look at, stands outside the fragment.
        answer["HX-Refresh"] = "true"
    return answer


def _standing(mailing: Mailing) -> dict:
    """Context of mailings/_progress.html."""
    return {
        "mailing": mailing,
        "stands": progress(mailing),
        "is_email": mailing.channel == MailingChannel.EMAIL,
        "leaves": settings.EMAIL_LEAVES and not mailing.is_rehearsal,
    }


@allow(Role.OWNER)
@require_POST
def mailing_again(request: HttpRequest, pk: int) -> HttpResponse:
    """Let all that failed wait anew."""
    mailing = get_object_or_404(Mailing, pk=pk)
    count = try_failed_again(mailing=mailing, actor=request.user)
    messages.success(request, f"Waiting again: {count}. Go on to send them.")
    return redirect("mailing-detail", pk=pk)


@allow(Role.OWNER)
@require_POST
def item_again(request: HttpRequest, pk: int) -> HttpResponse:
    item = _item_or_404(pk)
    try:
        try_again(item=item, actor=request.user)
    except MailingError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, "This e-mail waits again. Go on to send it.")
    return redirect("mailing-detail", pk=item.mailing_id)


@allow(Role.OWNER)
@require_POST
def item_sent(request: HttpRequest, pk: int) -> HttpResponse:
    item = _item_or_404(pk)
    try:
        take_as_sent(item=item, actor=request.user)
    except MailingError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, "Noted as sent.")
    return redirect("mailing-detail", pk=item.mailing_id)


def _item_or_404(pk: int) -> MailingItem:
    return get_object_or_404(MailingItem.objects.select_related("mailing"), pk=pk)
