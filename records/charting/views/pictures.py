"""Photographs for marking: the tablet sends one until it is stored, and shows those it lacks."""

import uuid

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from clinic.access.enums import Role
from clinic.access.rules import CLINICAL, allow
from clinic.access.uploads import was_too_large
from clinic.audit.services import record_read
from clinic.pictures.errors import PictureRefused
from records.sessions.errors import PictureConflict, SessionError
from records.sessions.forms.pictures import PictureForm
from records.sessions.forms.sentences import sentence
from records.sessions.models import SessionPicture, TreatmentSession
from records.sessions.services.pictures import keep_picture, picture_bytes


@allow(*CLINICAL)
@require_http_methods(["GET", "POST"])
def picture(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """One address for both, so that the tablet knows it before the clinic has the picture."""
    return _kept(request, key) if request.method == "POST" else _served(request, key)


def _kept(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """
    Store what was sent; again and again for the same picture.

    409 with code "no_session": its session has not arrived yet, so send it later. Other refusals
    say what a person has to do.
    """
    if Role.INJECTOR not in request.user.roles:  # type: ignore[union-attr]
        raise PermissionDenied
    files = request.FILES  # read first: this tells whether it was too large
    form = PictureForm(request.POST, files, was_too_large=was_too_large(request))
    if not form.is_valid():
        return _refused(sentence(form), 422)
    data = form.cleaned_data
    session = TreatmentSession.objects.filter(key=data["session"]).first()
    if session is None:
        return _refused("The session of this photograph is not stored yet.", 409, "no_session")
    if session.injector_id not in {request.user.pk, data["author"]}:
        raise PermissionDenied
    try:
        stored = keep_picture(
            session=session,
            key=key,
            sent=data["image"].read(),
            taken_at=data["taken_at"],
            actor=request.user,
        )
    except PictureConflict as error:
        return _refused(str(error), 409, "other_picture")
    except (PictureRefused, SessionError) as error:
        return _refused(str(error), 422)
    size = {"width": stored.width, "height": stored.height}
    return JsonResponse({"key": str(key), **size, "url": reverse("charting-picture", args=[key])})


def _served(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """The picture as this tool wrote it, for clinical staff; kept by no cache."""
    found = get_object_or_404(SessionPicture.objects.standing().select_related("session"), key=key)
    try:
        data = picture_bytes(found)
    except FileNotFoundError as error:
        raise Http404("The file of this photograph is not in var/pictures.") from error
    record_read(request.user, found, patient_id=found.session.patient_id)
    headers = {
        "Content-Disposition": 'inline; filename="photograph.jpg"',
        "Cache-Control": "no-store",
        "X-Content-Type-Options": "nosniff",
    }
    return HttpResponse(data, content_type="image/jpeg", headers=headers)


def _refused(message: str, status: int, code: str = "refused") -> JsonResponse:
    """A sentence for the tablet; nothing was stored."""
    return JsonResponse({"message": message, "code": code}, status=status)
