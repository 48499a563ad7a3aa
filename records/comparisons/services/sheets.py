"""Comparisons on paper: made once, given out byte for byte, as long as the patient agrees."""

import hashlib
from base64 import b64encode
from collections.abc import Sequence
from dataclasses import dataclass

from django.utils import timezone

from clinic.audit.services import acting
from clinic.policy.queries import current_policy
from clinic.printing.documents import document_html
from clinic.printing.pdf import render_pdf
from planning.atlas.geometry import number
from records.comparisons.errors import SheetRefused
from records.comparisons.models import ComparisonSheet
from records.comparisons.queries import (
    Comparison,
    Layer,
    agreed_uses,
    days_apart,
    treatments_between,
)
from records.photographs.enums import OUTSIDE, Use
from records.photographs.models import Photograph
from records.photographs.services.small import small_bytes

# Largest width and height of each of two pictures that stand beside each other, in millimetres.
PICTURE_MM = (87.0, 116.0)


@dataclass(frozen=True)
class PrintedLayer:
    """A picture as it is printed: its words, and its drawing in millimetres."""

    layer: Layer
    svg: str


def make_sheet(*, comparison: Comparison, use: Use, actor) -> ComparisonSheet:
    """
    Print a comparison for one use and keep it.

    Raises:
        SheetRefused: the patient does not agree to that use of every picture today.
        FileNotFoundError: the file of a picture is gone.
    """
    photographs = comparison.photographs
    _refuse_not_agreed(photographs, use)
    # Rendered outside the transaction: it takes a good part of a second.
    pdf = render_pdf(sheet_html(comparison, use))
    with acting(actor) as trail:
        _refuse_not_agreed(_locked(photographs), use)
        sheet = ComparisonSheet.objects.create(
            first=photographs[0], second=None if comparison.side else photographs[1],
            side=comparison.side or "", use=use, pdf=pdf,
            digest=hashlib.sha256(pdf).hexdigest(), made_at=timezone.now(), made_by=actor,
        )  # fmt: skip
        trail.add(
            "comparison_sheet.made", sheet, patient_id=comparison.patient.pk,
            after={"use": use.value, "digest": sheet.digest},
        )  # fmt: skip
    return sheet


def hand_out_sheet(*, sheet: ComparisonSheet, actor) -> bytes:
    """
    The sheet as it was printed, and a row in the trail that `actor` had it.

    Raises:
        SheetRefused: a picture was taken out, or the patient took back what it was printed for.
    """
    _refuse_not_agreed(sheet.photographs, Use(sheet.use))
    with acting(actor) as trail:
        trail.add("comparison_sheet.printed", sheet, patient_id=sheet.first.patient_id)
    return bytes(sheet.pdf)


def sheet_html(comparison: Comparison, use: Use) -> str:
    """The sheet as the HTML that is printed; for a use outside of the record without names."""
    agreed = agreed_uses(comparison.photographs, on=timezone.localdate())
    context = {
        "comparison": comparison,
        "patient": comparison.patient,
        "policy": current_policy(),
        "pictures": [PrintedLayer(layer, _svg(layer, comparison)) for layer in comparison.layers],
        "treatments": treatments_between(comparison),
        "days": days_apart(comparison),
        "use": use,
        "until_on": agreed.get(use),
        "names": use not in OUTSIDE,
        "today": timezone.localdate(),
    }
    return document_html("print/comparison.html", context)


def _refuse_not_agreed(photographs: Sequence[Photograph], use: Use) -> None:
    if any(photograph.removed_at for photograph in photographs):
        raise SheetRefused("A picture of this comparison was taken out of the record.")
    if use not in agreed_uses(photographs, on=timezone.localdate()):
        raise SheetRefused(
            f"{use.label}: the patient does not agree, or no more, for every picture of this "
            "comparison. Ask the patient, and note it on the page of each photograph."
        )


def _locked(photographs: Sequence[Photograph]) -> list[Photograph]:
    """As they are now, locked in the order of their ids; whoever withdraws a use locks one."""
    ids = [photograph.pk for photograph in photographs]
    found = Photograph.objects.filter(pk__in=ids).order_by("pk")
    return list(found.select_for_update(of=("self",)))


def _svg(layer: Layer, comparison: Comparison) -> str:
    """The picture in the frame of the comparison, cut where only a part of it is shown."""
    left, top, width, height = comparison.frame
    shrink = min(PICTURE_MM[0] / width, PICTURE_MM[1] / height)
    photograph = layer.photograph
    data, _ = small_bytes(photograph, "preview")
    matrix = " ".join(map(str, layer.placement.matrix))
    image = (
        f'<image transform="matrix({matrix})" width="{photograph.width}" '
        f'height="{photograph.height}" preserveAspectRatio="none" '
        f'href="data:image/jpeg;base64,{b64encode(data).decode()}"/>'
    )
    shown = layer.outline or (
        (left, top), (left + width, top), (left + width, top + height), (left, top + height),
    )  # fmt: skip
    corners = " ".join(f"{number(x)},{number(y)}" for x, y in shown)
    clip = f"shown-{layer.label.split()[-1].lower()}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" '
        f'viewBox="{number(left)} {number(top)} {number(width)} {number(height)}" '
        f'width="{width * shrink:.1f}mm" height="{height * shrink:.1f}mm">'
        f"<title>{layer.label}</title>"
        f'<clipPath id="{clip}"><polygon points="{corners}"/></clipPath>'
        f'<g clip-path="url(#{clip})">{image}</g></svg>'
    )
