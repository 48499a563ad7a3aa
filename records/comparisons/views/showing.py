"""
A comparison on the screen.

The page asks for the pictures by the addresses of `records.photographs`, which look who asks and
note each that is opened.
"""

import uuid
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.views.decorators.http import require_GET

from clinic.access.rules import CLINICAL, allow
from planning.landmarks import marks_of
from planning.sources import FACE_LANDMARKS
from planning.vocabulary import Side
from records.comparisons.enums import Fit
from records.comparisons.forms import SheetForm
from records.comparisons.queries import (
    Comparison,
    Layer,
    agreed_uses,
    days_apart,
    treatments_between,
)
from records.comparisons.views.finding import find_pair, find_sides


@allow(*CLINICAL)
@require_GET
def comparison_pair(request: HttpRequest, first: uuid.UUID, second: uuid.UUID) -> HttpResponse:
    """Two photographs, the earlier one first; `fit` may be "stretched"."""
    return shown(request, find_pair(request, first, second))


@allow(*CLINICAL)
@require_GET
def comparison_sides(request: HttpRequest, key: uuid.UUID, side: str) -> HttpResponse:
    """The treated side of one photograph, and the other one mirrored onto it."""
    return shown(request, find_sides(key, side))


def shown(
    request: HttpRequest, comparison: Comparison, *, sheet_form: SheetForm | None = None
) -> HttpResponse:
    """The page of a comparison; `sheet_form` is one that was refused."""
    roles = request.user.roles  # type: ignore[union-attr]
    today = timezone.localdate()
    context = {
        "comparison": comparison,
        "patient": comparison.patient,
        "page_url": page_address(comparison),
        "sheet_url": _address(comparison, "-sheet"),
        "drawn": _drawn(comparison),
        "fits": list(Fit),
        "sides": (Side.RIGHT, Side.LEFT),
        "has_sides": marks_of(comparison.photographs[0].shot.view).has_sides,
        "treatments": treatments_between(comparison),
        "days": days_apart(comparison),
        "agreed": agreed_uses(comparison.photographs, on=today),
        "sheet_form": sheet_form or SheetForm(roles=roles),
        "source": FACE_LANDMARKS,
    }
    status = 422 if sheet_form else 200
    return render(request, "comparisons/comparison.html", context, status=status)


def page_address(comparison: Comparison) -> str:
    """Where the comparison is shown."""
    return _address(comparison)


def _address(comparison: Comparison, act: str = "") -> str:
    keys = [photograph.key for photograph in comparison.photographs]
    if comparison.side:
        return reverse(f"comparison-sides{act}", args=[*keys, comparison.side])
    fit = f"?fit={comparison.fit}" if comparison.fit is Fit.STRETCHED else ""
    return reverse(f"comparison-pair{act}", args=keys) + fit


def _drawn(comparison: Comparison) -> dict[str, Any]:
    """What the page's script draws, all in pixels of the first picture."""
    return {
        "frame": comparison.frame,
        "layers": [_layer(layer) for layer in comparison.layers],
    }


def _layer(layer: Layer) -> dict[str, Any]:
    photograph = layer.photograph
    return {
        "label": layer.label,
        "day": date_format(timezone.localtime(photograph.taken_at), "j M Y"),
        "preview": reverse("photograph-preview", args=[photograph.key]),
        "full": reverse("photograph-file", args=[photograph.key]),
        "width": photograph.width,
        "height": photograph.height,
        "matrix": layer.placement.matrix,
        "outline": layer.outline,
    }
