"""Times that came free, and what becomes of their offers."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from clinic.access.return_path import return_path
from clinic.access.rules import EVERYONE, allow
from records.appointments.errors import TimeTaken
from records.appointments.models import Appointment
from records.waiting_list.errors import EntryClosed, NobodyFits, OfferClosed, TooLate
from records.waiting_list.forms import ChosenForm, ReasonForm
from records.waiting_list.models import FreedTime, Offer
from records.waiting_list.queries.matching import open_time
from records.waiting_list.services.offers import (
    accept,
    decline,
    expire_offers,
    leave_time,
    offer_time,
    withdraw,
)


@allow(*EVERYONE)
@require_GET
def freed_time(request: HttpRequest, pk: int) -> HttpResponse:
    """One time that came free: who fits, in order, and who was offered it."""
    expire_offers()
    times = FreedTime.objects.select_related("practitioner", "appointment")
    freed = get_object_or_404(times, pk=pk)
    is_ahead = freed.starts_at > timezone.now()
    context = {
        "freed": freed,
        "is_ahead": is_ahead,
        "time": open_time(freed) if is_ahead else None,
        "offers": Offer.objects.filter(freed=freed).with_people().order_by("id"),
    }
    return render(request, "waiting_list/time.html", context)


@allow(*EVERYONE)
@require_POST
def time_offer(request: HttpRequest, pk: int) -> HttpResponse:
    """Offer a time to the first in order, or to who was chosen."""
    freed = get_object_or_404(FreedTime.objects.select_related("practitioner"), pk=pk)
    chosen = ChosenForm(request.POST)
    expire_offers()
    if not chosen.is_valid():
        messages.error(request, "That person is no longer on the waiting list.")
        return _back(request)
    try:
        offer = offer_time(freed=freed, entry=chosen.cleaned_data["entry"], actor=request.user)
    except (NobodyFits, TooLate, EntryClosed, TimeTaken) as refusal:
        messages.error(request, str(refusal))
    else:
        context = {"offer": offer, "back": _back_to(request)}
        messages.success(request, render_to_string("waiting_list/_held.html", context, request))
    return _back(request)


@allow(*EVERYONE)
@require_POST
def time_leave(request: HttpRequest, pk: int) -> HttpResponse:
    """Offer a time to nobody."""
    leave_time(freed=get_object_or_404(FreedTime, pk=pk), actor=request.user)
    return _back(request)


@allow(*EVERYONE)
@require_POST
def offer_accept(request: HttpRequest, pk: int) -> HttpResponse:
    """The patient takes the time, as told on the telephone."""
    offer = _offer(pk)
    try:
        accept(offer, actor=request.user)
    except (OfferClosed, EntryClosed) as refusal:
        expire_offers()
        messages.error(request, str(refusal))
    else:
        messages.success(request, _accepted(offer))
    return _back(request)


def _accepted(offer: Offer) -> str:
    """That it is booked, and what else the patient has of the kind."""
    booked = offer.appointment
    when = timezone.localtime(booked.starts_at)
    said = (
        f"Booked for {offer.entry.patient}: {when:%A} {when.day} {when:%B} at {when:%H:%M} with "
        f"{booked.practitioner}."
    )
    later = (
        Appointment.objects.filter(
            patient=booked.patient_id, kind=booked.kind, state="booked",
            starts_at__gt=timezone.now(),
        )
        .exclude(pk=booked.pk)
        .order_by("starts_at")
        .first()
    )  # fmt: skip
    if later is not None:
        other = timezone.localtime(later.starts_at)
        said += (
            f" They also have one on {other.day} {other:%B} at {other:%H:%M}: cancel it if it is "
            "no longer needed."
        )
    return said


@allow(*EVERYONE)
@require_POST
def offer_decline(request: HttpRequest, pk: int) -> HttpResponse:
    """The patient does not want the time, and waits on."""
    offer = _offer(pk)
    try:
        decline(offer, actor=request.user)
    except OfferClosed as refusal:
        messages.error(request, str(refusal))
    else:
        messages.info(request, _went_on(offer.freed))
    return _back(request)


def _went_on(freed: FreedTime) -> str:
    """Whom the time went to."""
    following = Offer.objects.open().filter(freed=freed).select_related("entry__patient").last()
    if following is None:
        return "Noted. The time is free again."
    return f"Noted. The time is now offered to {following.entry.patient}."


@allow(*EVERYONE)
@require_http_methods(["GET", "POST"])
def offer_withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    """Take an offer back."""
    offer = _offer(pk)
    form = ReasonForm(
        request.POST if request.method == "POST" else None,
        back=_back_to(request),
        label="Why it is taken back",
        button="Take the offer back",
    )
    if request.method == "POST" and form.is_valid():
        try:
            withdraw(offer, actor=request.user, **form.cleaned_data)
        except OfferClosed as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, "The offer is taken back, and the time is free.")
            return redirect(form.back)
    context = {"form": form, "offer": offer}
    status = 422 if form.errors else 200
    return render(request, "waiting_list/withdraw.html", context, status=status)


def _offer(pk: int) -> Offer:
    return get_object_or_404(Offer.objects.with_people(), pk=pk)


def _back(request: HttpRequest) -> HttpResponse:
    return redirect(_back_to(request))


def _back_to(request: HttpRequest) -> str:
    return return_path(request, otherwise=reverse("waiting-list"))
