"""Places marked before injecting: a diamond with a P number, which no injected point looks like."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from html import escape

from planning.atlas.geometry import number
from planning.atlas.mark_labels import place_labels
from planning.atlas.marks import INK, MarkLayer
from planning.vocabulary import View


@dataclass(frozen=True)
class PlannedMark:
    """
    A place on a view, tenths of a millimetre. `is_given`: a point was injected for it since.
    `label` is read out and shown on hover; `key` is handed to the page as data-marking.
    """

    number: int
    x_dmm: int
    y_dmm: int
    is_given: bool = False
    label: str = ""
    key: str = ""


def draw_planned(view: View, planned: Iterable[PlannedMark], *, mark_scale: float = 1.0) -> str:
    """One <g> with the planned places of a view, in the order given."""
    listed = list(planned)
    labels = place_labels(
        [(mark.x_dmm / 10, mark.y_dmm / 10, f"P{mark.number}") for mark in listed], mark_scale
    )
    body = "".join(
        f'<g class="mark mark-planned" data-number="P{mark.number}"'
        f"{_key(mark)}><title>{escape(mark.label or f'Planned place {mark.number}')}</title>"
        f"{label.leader(INK)}{_sign(mark, mark_scale)}{label.text(INK)}</g>"
        for mark, label in zip(listed, labels, strict=True)
    )
    layer = MarkLayer.PLANNED
    return (
        f'<g class="marks marks-{layer}" data-marks="{layer}" data-view="{view}" '
        f'font-family="Clinic Sans, sans-serif">{body}</g>'
    )


def _key(mark: PlannedMark) -> str:
    return f' data-marking="{escape(mark.key)}"' if mark.key else ""


def _sign(mark: PlannedMark, scale: float) -> str:
    """Dashed with a cross while it waits, plain with a tick once it was given."""
    inner = "M-1 0.1L-0.3 0.9L1.1 -0.8" if mark.is_given else "M-0.9 0H0.9M0 -0.9V0.9"
    dashes = "" if mark.is_given else ' stroke-dasharray="1.15 0.75"'
    larger = "" if scale == 1 else f" scale({number(scale)})"
    return (
        f'<g transform="translate({number(mark.x_dmm / 10)} {number(mark.y_dmm / 10)}){larger}">'
        f'<path d="M0 -2.7L2.7 0L0 2.7L-2.7 0Z" fill="#ffffff" fill-opacity="0.9" stroke="{INK}" '
        f'stroke-width="0.4"{dashes}/>'
        f'<path d="{inner}" fill="none" stroke="{INK}" stroke-width="0.5" '
        'stroke-linecap="round"/></g>'
    )
