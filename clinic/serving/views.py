"""Is it alive, can it work, how is it used: for whoever looks after the machine."""

from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.views.decorators.http import require_safe
from prometheus_client import CONTENT_TYPE_LATEST

from clinic.access.rules import public
from clinic.serving import figures
from clinic.serving.machine import is_of_the_machine
from clinic.serving.queries import readiness


@public
@require_safe
def health(request: HttpRequest) -> HttpResponse:
    """The process answers. Nothing else is asked, so that a slow database starts nothing anew."""
    return HttpResponse("alive\n", content_type="text/plain; charset=utf-8")


@public
@require_safe
def ready(request: HttpRequest) -> JsonResponse:
    """200 when all parts are well, else 503; which one is not, and what to do about it."""
    _only_the_machine(request)
    parts = readiness()
    is_ready = all(part.is_well for part in parts)
    told = {"ready": is_ready, "parts": [part.as_dict() for part in parts]}
    return JsonResponse(told, status=200 if is_ready else 503)


@public
@require_safe
def metrics(request: HttpRequest) -> HttpResponse:
    _only_the_machine(request)
    return HttpResponse(figures.as_text(), content_type=CONTENT_TYPE_LATEST)


def _only_the_machine(request: HttpRequest) -> None:
    if not is_of_the_machine(request):
        raise Http404
