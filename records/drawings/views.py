"""The drawings of the face, without anything of a patient."""

from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.http import require_GET

from clinic.access.rules import CLINICAL, allow
from planning.vocabulary import Jaw, View
from records.drawings.queries import view_drawing


@allow(*CLINICAL)
@require_GET
def drawing(request: HttpRequest, view: str, jaw: str) -> HttpResponse:
    """
    One view of the face without marks. It is large, the same for all patients, and its address
    changes with it, so that a tablet on a weak network fetches it once.
    """
    try:
        text = view_drawing(View(view), Jaw(jaw))
    except (ValueError, KeyError) as error:  # a photograph is a view without a drawing
        raise Http404 from error
    headers = {"Cache-Control": "private, max-age=31536000, immutable"}
    return HttpResponse(text, headers=headers)
