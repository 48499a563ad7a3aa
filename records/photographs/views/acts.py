"""Acts on one photograph: corrected, taken out, a use given or withdrawn."""

import uuid
from datetime import datetime

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from clinic.access.rules import CLINICAL, allow
from clinic.stock.forms import ReasonForm
from records.photographs.enums import Use
from records.photographs.errors import PhotographError
from records.photographs.forms import CorrectForm, UseForm
from records.photographs.services.keeping import correct_photograph, take_out_photograph
from records.photographs.services.uses import note_uses, withdraw_use
from records.photographs.views.finding import find_photograph
from records.photographs.views.pages import detail_page


@allow(*CLINICAL)
@require_POST
def photograph_correct(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """What it shows, and the day; the time of the day stays."""
    photograph = find_photograph(request, key)
    form = CorrectForm(request.POST)
    if form.is_valid():
        time = timezone.localtime(photograph.taken_at).time()
        taken_at = timezone.make_aware(datetime.combine(form.cleaned_data["taken_on"], time))
        try:
            correct_photograph(
                photograph=photograph, shot=form.cleaned_data["shot"], taken_at=taken_at,
                actor=request.user,
            )  # fmt: skip
        except PhotographError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, "Corrected.")
            return redirect("photograph-detail", photograph.key)
    return detail_page(request, photograph, correct_form=form)


@allow(*CLINICAL)
@require_POST
def photograph_take_out(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """Out of the record, for a reason."""
    photograph = find_photograph(request, key)
    form = ReasonForm(request.POST)
    if form.is_valid():
        try:
            take_out_photograph(photograph=photograph, actor=request.user, **form.cleaned_data)
        except PhotographError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, "Taken out of the record.")
            return redirect("photograph-list", photograph.patient_id)
    return detail_page(request, photograph, reason_form=form)


@allow(*CLINICAL)
@require_POST
def use_give(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """The patient agrees to one more use, or to a longer one."""
    photograph = find_photograph(request, key)
    form = UseForm(request.POST)
    if form.is_valid():
        given = {form.cleaned_data["use"]: form.cleaned_data["until_on"]}
        try:
            note_uses(photograph=photograph, uses=given, actor=request.user)
        except PhotographError as error:
            form.add_error("until_on", str(error))
        else:
            messages.success(request, "Noted.")
            return redirect("photograph-detail", photograph.key)
    return detail_page(request, photograph, use_form=form)


@allow(*CLINICAL)
@require_POST
def use_withdraw(request: HttpRequest, key: uuid.UUID, use: str) -> HttpResponse:
    """The patient takes it back."""
    photograph = find_photograph(request, key)
    if use not in Use.__members__.values():
        raise Http404("There is no such use.")
    try:
        withdraw_use(photograph=photograph, use=Use(use), actor=request.user)
    except PhotographError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, "Withdrawn.")
    return redirect("photograph-detail", photograph.key)
