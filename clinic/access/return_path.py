"""Where a person goes back to after an act that several pages offer."""

from django.http import HttpRequest
from django.utils.http import url_has_allowed_host_and_scheme


def return_path(request: HttpRequest, *, otherwise: str) -> str:
    """The page named by `next`, if it is one of ours."""
    path = request.POST.get("next") or request.GET.get("next") or ""
    is_ours = path.startswith("/") and url_has_allowed_host_and_scheme(path, allowed_hosts=None)
    return path if is_ours else otherwise
