"""Closes every view to whoever its `@allow` does not name."""

from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import render, resolve_url

from clinic.access import camera
from clinic.access.rules import PUBLIC
from clinic.access.sent import typed_fields


class AccessMiddleware:
    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        response = self.get_response(request)
        # A record must not be read from the browser's memory after signing out.
        if not response.has_header("Cache-Control") and not request.path.startswith("/static/"):
            response["Cache-Control"] = "no-store"
        response.setdefault(camera.HEADER, camera.NO_CAMERA)
        return response

    def process_view(self, request, view, args, kwargs):
        allowed = getattr(view, "allowed_roles", frozenset())
        if allowed is PUBLIC:
            return None
        if not request.user.is_authenticated:
            return self._ask_to_sign_in(request)
        if not allowed & request.user.roles:
            raise PermissionDenied
        return None

    def _ask_to_sign_in(self, request):
        if getattr(request, "htmx", False):
            response = HttpResponse(status=401)
            response["HX-Redirect"] = resolve_url("staff-login")
            return response
        if request.headers.get("Accept", "").startswith("application/json"):
            return HttpResponse(status=401)
        if request.method == "POST" and (typed := typed_fields(request)) is not None:
            # Django has checked the form's token: it goes back to nobody but its sender.
            return render(request, "registration/signed_out.html", {"typed": typed}, status=401)
        return redirect_to_login(request.get_full_path())
