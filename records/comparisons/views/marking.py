"""Setting the marks of a photograph."""

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from clinic.access.return_path import return_path
from clinic.access.rules import CLINICAL, allow
from planning.sources import FACE_LANDMARKS
from records.comparisons.forms import MarksForm
from records.comparisons.queries import places_on
from records.comparisons.services.marks import place_marks
from records.comparisons.views.finding import find_standing
from records.photographs.errors import PhotographError


@allow(*CLINICAL)
@require_http_methods(["GET", "HEAD", "POST"])
def marks_edit(request: HttpRequest, key: uuid.UUID) -> HttpResponse:
    """Two or three places on the picture, by touch or by numbers; `next` leads back."""
    photograph = find_standing(key)
    back = return_path(request, otherwise=reverse("photograph-detail", args=[photograph.key]))
    sent = request.POST if request.method == "POST" else None
    form = MarksForm(sent, photograph=photograph, places=places_on(photograph))
    if sent is not None and form.is_valid():
        try:
            place_marks(photograph=photograph, places=form.places, actor=request.user)
        except PhotographError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, "The marks are saved; every comparison uses them.")
            return redirect(back)
    context = {
        "photograph": photograph,
        "patient": photograph.patient,
        "form": form,
        "back": back,
        "source": FACE_LANDMARKS,
        "picture": {
            "width": photograph.width,
            "height": photograph.height,
            "href": reverse("photograph-preview", args=[photograph.key]),
        },
    }
    status = 422 if form.errors else 200
    return render(request, "comparisons/marks.html", context, status=status)
