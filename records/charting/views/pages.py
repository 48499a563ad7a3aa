"""The charting screen itself: the same page for everybody, so that a tablet can keep it."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.cache import cache_control
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.http import require_safe

from clinic.access.camera import reads_codes
from clinic.access.enums import Role
from clinic.access.rules import allow
from records.charting.queries.kept import shell_text


@allow(Role.INJECTOR)
@require_safe
@reads_codes
@ensure_csrf_cookie
@cache_control(no_cache=True)
def charting(request: HttpRequest) -> HttpResponse:
    """No name and no token stands in it; what it shows, its scripts fetch or keep."""
    return HttpResponse(shell_text())
