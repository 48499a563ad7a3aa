"""What makes the charting screen an app on the tablet: its service worker and its manifest."""

import json

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.templatetags.static import static
from django.urls import reverse
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_safe

from clinic.access.enums import Role
from clinic.access.rules import allow, public
from clinic.policy.queries import current_policy
from records.charting.queries.kept import kept_by_tablets, worker_source

# Of the page's ground and of what can be pressed, in static/css/tokens.css (light).
GROUND, ACCENT = "#f6f3ed", "#1b5c57"
ICONS = (
    ("img/app-192.png", "192x192", "any"),
    ("img/app-512.png", "512x512", "any"),
    ("img/app-maskable-192.png", "192x192", "maskable"),
    ("img/app-maskable-512.png", "512x512", "maskable"),
)


@allow(Role.INJECTOR)
@require_safe
@cache_control(no_cache=True)
def charting_worker(request: HttpRequest) -> HttpResponse:
    """The worker with the list of what it keeps; its folder's address is its scope."""
    kept = kept_by_tablets()
    told = {"version": kept.version, "shell": kept.shell, "files": kept.files}
    script = f"const KEPT = {json.dumps(told)};\n\n{worker_source()}"
    return HttpResponse(script, content_type="text/javascript; charset=utf-8")


@public
@require_safe
@cache_control(no_cache=True)
def charting_manifest(request: HttpRequest) -> JsonResponse:
    """How the app is called on the tablet (W3C Web Application Manifest); holds no secret."""
    name = current_policy().name
    manifest = {
        "id": reverse("charting"),
        "name": f"{name}: charting",
        "short_name": "Charting",
        "description": "The face chart of the clinic record.",
        "start_url": reverse("charting"),
        "scope": "/",
        "display": "standalone",
        "background_color": GROUND,
        "theme_color": ACCENT,
        "icons": [
            {"src": static(path), "sizes": sizes, "type": "image/png", "purpose": purpose}
            for path, sizes, purpose in ICONS
        ],
    }
    return JsonResponse(manifest, content_type="application/manifest+json")
