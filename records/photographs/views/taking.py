"""Taking photographs with the tablet's camera, choosing files, and keeping what they send."""

import uuid

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.views.decorators.http import require_GET, require_POST

from clinic.access.camera import uses_camera
from clinic.access.rules import CLINICAL, allow
from clinic.access.uploads import was_too_large
from clinic.audit.services import record_read
from clinic.pictures.errors import PictureRefused
from planning.sources import PHOTO_SERIES
from planning.standard_views import SHOTS
from planning.vocabulary import ProductKind
from records.patients.models import Patient
from records.photographs.errors import PhotographConflict, PhotographError
from records.photographs.forms import AgreedForm, KeepForm, shot_choices
from records.photographs.models import Photograph
from records.photographs.queries import all_series, latest_of_each, series_of, taken_on_day_of
from records.photographs.services.keeping import keep_photograph
from records.sessions.forms.sentences import sentence
from records.sessions.models import TreatmentSession


@allow(*CLINICAL)
@uses_camera
@require_GET
def photograph_take(request: HttpRequest, pk: int) -> HttpResponse:
    """The series of one kind of product before the camera; `kind` and `session` may be named."""
    patient = get_object_or_404(Patient, pk=pk)
    record_read(request.user, patient, patient_id=patient.pk, action="read.photographs")
    series = series_of(_kind(request.GET.get("kind")))
    earlier = latest_of_each(patient, SHOTS)
    context = {
        "patient": patient,
        "series": series,
        "all_series": all_series(),
        "others": shot_choices(),
        "taken": taken_on_day_of([pk], timezone.now())[pk],
        "earlier": {shot.key: _before(photograph) for shot, photograph in earlier.items()},
        "source": PHOTO_SERIES,
        **_sending(request, patient),
    }
    return render(request, "photographs/take.html", context)


@allow(*CLINICAL)
@require_GET
def photograph_upload(request: HttpRequest, pk: int) -> HttpResponse:
    """Files from elsewhere; the page sends one after the other."""
    patient = get_object_or_404(Patient, pk=pk)
    context = {"patient": patient, "others": shot_choices(), **_sending(request, patient)}
    return render(request, "photographs/upload.html", context)


@allow(*CLINICAL)
@require_POST
def photograph_keep(request: HttpRequest, pk: int, key: uuid.UUID) -> HttpResponse:
    """Keep what a page sends, once; a refusal is a sentence that says what to do."""
    patient = get_object_or_404(Patient, pk=pk)
    files = request.FILES  # read first: this tells whether it was too large
    form = KeepForm(request.POST, files, was_too_large=was_too_large(request))
    if not form.is_valid():
        return _refused(sentence(form), 422)
    data = form.cleaned_data
    try:
        photograph = keep_photograph(
            patient=patient,
            key=key,
            sent=data["image"].read(),
            shot=data["shot"],
            source=data["source"],
            uses=form.uses,
            taken_at=data["taken_at"],
            session=_session(patient, data["session"]),
            actor=request.user,
        )
    except PhotographConflict as error:
        return _refused(str(error), 409)
    except (PictureRefused, PhotographError) as error:
        return _refused(str(error), 422)
    return JsonResponse(
        {
            "key": str(photograph.key),
            "url": reverse("photograph-detail", args=[photograph.key]),
            "thumbnail": reverse("photograph-thumbnail", args=[photograph.key]),
        }
    )


def _sending(request: HttpRequest, patient: Patient) -> dict:
    """What both pages need to send a photograph."""
    wanted = request.GET.get("session", "")
    open_sessions = patient.sessions.unsigned()
    session = open_sessions.filter(pk=wanted).first() if wanted.isdecimal() else None
    return {
        "agreed_form": AgreedForm(),
        "session": session or open_sessions.first(),
        "keep_url": reverse("photograph-keep", args=[patient.pk, uuid.UUID(int=0)]),
    }


def _session(patient: Patient, key: uuid.UUID | None) -> TreatmentSession | None:
    if key is None:
        return None
    session = TreatmentSession.objects.filter(key=key).first()
    if session is None:
        raise PhotographError("The session of this photograph is not stored. Open the page anew.")
    return session


def _kind(asked: str | None) -> ProductKind:
    """Filler, which needs the five views of rest, where nobody says."""
    known = {kind.value: kind for kind in ProductKind if kind is not ProductKind.ANAESTHETIC}
    return known.get(asked or "", ProductKind.HA_FILLER)


def _before(photograph: Photograph) -> dict[str, str]:
    """What the camera's page lays under the picture that is being taken."""
    day = timezone.localtime(photograph.taken_at)
    return {
        "url": reverse("photograph-preview", args=[photograph.key]),
        "day": date_format(day, "j M Y"),
    }


def _refused(message: str, status: int) -> JsonResponse:
    return JsonResponse({"message": message}, status=status)
