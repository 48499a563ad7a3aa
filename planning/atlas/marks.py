"""
The chart's own code of marks for injection points.

Three things are read off one mark without colour: the technique is its figure, the plane its ring,
the kind of product its ground. A mark fits a circle of 5 mm, so two points 5 mm apart stay apart.
The same text feeds screen and PDF: presentation attributes only, no ids.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from html import escape

from planning.atlas.geometry import Point, number
from planning.atlas.mark_labels import AmountPlace, LabelPlace, place_amounts, place_labels
from planning.atlas.mark_reach import draw_reach, stretches
from planning.vocabulary import Plane, ProductKind, Technique, Term, View

RING_MM = 2.3
INK = "#1f2a30"
GREY = "#565656"


class MarkLayer(Term):
    """Which points a group of marks shows."""

    TODAY = "today", "Today's points"
    EARLIER = "earlier", "Last session's points"


@dataclass(frozen=True)
class Mark:
    """
    One injection point on a view.

    `x_dmm`, `y_dmm`: tenths of a millimetre in the view's coordinates. `label` is read out and
    shown on hover. `key` is the point's own id, handed to the page as data-point. `reach` is where
    a thread or fan ends, in the same coordinates. `amount` is the text of a bolus's amount.
    """

    number: int
    x_dmm: int
    y_dmm: int
    plane: Plane
    technique: Technique
    kind: ProductKind
    label: str = ""
    key: str = ""
    reach: tuple[int, int] | None = None
    amount: str = ""

    @property
    def at(self) -> Point:
        return (self.x_dmm / 10, self.y_dmm / 10)

    @property
    def end(self) -> Point:
        """Where its thread or fan ends; its own place without one."""
        return (self.reach[0] / 10, self.reach[1] / 10) if self.reach else self.at


@dataclass(frozen=True)
class LegendEntry:
    """One line of the legend: a small stand-alone drawing and what it means."""

    group: str
    term: Term
    svg: str

    @property
    def label(self) -> str:
        return self.term.label


COLOURS: dict[ProductKind, str] = {
    ProductKind.HA_FILLER: "#164a78",
    ProductKind.OTHER_FILLER: "#7a4a00",
    ProductKind.TOXIN: "#6d1b50",
    ProductKind.HYALURONIDASE: "#17603f",
    ProductKind.ANAESTHETIC: "#4a4a4a",
    ProductKind.EMERGENCY: "#8a1414",
}


def draw_marks(
    view: View,
    marks: Iterable[Mark],
    *,
    layer: MarkLayer = MarkLayer.TODAY,
    mark_scale: float = 1.0,
) -> str:
    """
    One <g> with all marks of a view, in the order given; numbers stand where they hide no mark.

    The same marks always give the same text. A `mark_scale` above 1 draws marks and numbers larger
    than the face: paper shows the face smaller than a tablet does.
    """
    listed = list(marks)
    places = [(*mark.at, str(mark.number)) for mark in listed]
    lines = [line for mark in listed for line in stretches(mark.technique, mark.at, mark.end)]
    labels = place_labels(places, mark_scale, lines)
    words = [mark.amount if mark.technique is Technique.BOLUS else "" for mark in listed]
    amounts = place_amounts(places, labels, words, mark_scale, lines)
    reaches = "".join(
        draw_reach(mark.technique, mark.at, mark.end, _colour(mark, layer), mark_scale)
        for mark in listed
    )
    body = f'<g class="reaches">{reaches}</g>' if reaches else ""
    body += "".join(
        _mark(mark, label, amount, layer)
        for mark, label, amount in zip(listed, labels, amounts, strict=True)
    )
    opacity = ' opacity="0.65"' if layer is MarkLayer.EARLIER else ""
    return (
        f'<g class="marks marks-{layer}" data-marks="{layer}" data-view="{view}" '
        f'font-family="Clinic Sans, sans-serif"{opacity}>{body}</g>'
    )


def _colour(mark: Mark, layer: MarkLayer) -> str:
    return GREY if layer is MarkLayer.EARLIER else COLOURS[mark.kind]


def legend() -> list[LegendEntry]:
    """Every technique, plane and kind of product with its drawing, each shown alone."""
    entries = [
        LegendEntry("Technique", technique, _legend_svg(FIGURES[technique](INK), technique.label))
        for technique in Technique
    ]
    entries += [
        LegendEntry("Plane", plane, _legend_svg(RINGS[plane](INK), plane.label)) for plane in Plane
    ]
    for kind in ProductKind:
        colour = COLOURS[kind]
        sample = (
            ground(kind) + figure(kind, Technique.BOLUS) + _circle(RING_MM, "none", colour, 0.3)
        )
        entries.append(LegendEntry("Product", kind, _legend_svg(sample, kind.label)))
    return entries


def _mark(mark: Mark, label: LabelPlace, amount: AmountPlace | None, layer: MarkLayer) -> str:
    colour = _colour(mark, layer)
    x, y = number(mark.x_dmm / 10), number(mark.y_dmm / 10)
    title = mark.label or f"{mark.number}: {mark.technique.label}, {mark.plane.label}"
    key = f' data-point="{escape(mark.key)}"' if mark.key else ""
    larger = "" if label.scale == 1 else f" scale({number(label.scale)})"
    signs = f"{ground(mark.kind)}{figure(mark.kind, mark.technique)}{RINGS[mark.plane](colour)}"
    return (
        f'<g class="mark mark-{mark.kind}" data-number="{mark.number}" data-plane="{mark.plane}" '
        f'data-technique="{mark.technique}"{key}><title>{escape(title)}</title>'
        f"{label.leader(colour)}"
        f'<g transform="translate({x} {y}){larger}">'
        f"{DISC}{signs.replace(COLOURS[mark.kind], colour)}</g>"
        f"{label.text(colour)}{amount.text(colour) if amount else ''}</g>"
    )


def _legend_svg(body: str, label: str) -> str:
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="-3.2 -3.2 6.4 6.4" width="22" '
        f'height="22" role="img" aria-label="{escape(label)}"><title>{escape(label)}</title>'
        f"{body}</svg>"
    )


def _circle(radius: float, fill: str, stroke: str, width: float, dash: str = "") -> str:
    dashes = f' stroke-dasharray="{dash}" stroke-linecap="round"' if dash else ""
    edge = f' stroke="{stroke}" stroke-width="{number(width)}"{dashes}' if stroke != "none" else ""
    return f'<circle r="{number(radius)}" fill="{fill}"{edge}/>'


DISC = _circle(RING_MM + 0.15, "#ffffff", "none", 0)
"""The white disc under every mark."""

# --- ground: kind of product ---


def ground(kind: ProductKind) -> str:
    """What lies under the figure, on the mark's white disc."""
    colour = COLOURS[kind]
    if kind is ProductKind.TOXIN:
        return _circle(1.62, colour, "none", 0)
    if kind is ProductKind.ANAESTHETIC:
        return _circle(RING_MM, "#c9c9c9", "none", 0)
    if kind is ProductKind.EMERGENCY:
        return f'<path d="M-2 0H2M0 -2V2" fill="none" stroke="{colour}" stroke-width="0.3"/>'
    if kind is ProductKind.OTHER_FILLER:
        chords = "".join(
            f"M{number(-r + s)} {number(-r - s)}L{number(r + s)} {number(r - s)}"
            for r, s in ((1.6, 0.0), (1.5, 0.6), (1.5, -0.6), (1.1, 1.2), (1.1, -1.2))
        )
        return f'<path d="{chords}" fill="none" stroke="{colour}" stroke-width="0.2"/>'
    if kind is ProductKind.HYALURONIDASE:
        return "".join(
            f'<circle cx="{x}" cy="{y}" r="0.34" fill="{colour}"/>'
            for x, y in (
                (0, -1.8),
                (1.27, -1.27),
                (1.8, 0),
                (1.27, 1.27),
                (0, 1.8),
                (-1.27, 1.27),
                (-1.8, 0),
                (-1.27, -1.27),
            )
        )
    return ""


# --- figure: technique ---


def figure(kind: ProductKind, technique: Technique) -> str:
    """The technique in the product's colour; a toxin's is white on its dark ground, and smaller."""
    if kind is ProductKind.TOXIN:
        return f'<g transform="scale(0.76)">{FIGURES[technique]("#ffffff")}</g>'
    return FIGURES[technique](COLOURS[kind])


Figure = Callable[[str], str]

FIGURES: dict[Technique, Figure] = {
    Technique.BOLUS: lambda c: f'<circle r="1.25" fill="{c}"/>',
    Technique.LINEAR_RETROGRADE: lambda c: (
        f'<path d="M-1.6 -0.4L1 -0.4L1 -1.1L1.6 -1.1L1.6 1.1L1 1.1L1 0.4L-1.6 0.4Z" fill="{c}"/>'
    ),
    Technique.LINEAR_ANTEROGRADE: lambda c: (
        f'<path d="M-1.6 -0.4L0.4 -0.4L0.4 -1.2L1.75 0L0.4 1.2L0.4 0.4L-1.6 0.4Z" fill="{c}"/>'
    ),
    Technique.FANNING: lambda c: f'<path d="M0 1.6L-1.5 -0.8Q0 -2 1.5 -0.8Z" fill="{c}"/>',
    Technique.CROSS_HATCHING: lambda c: (
        '<path d="M-0.55 -1.55V1.55M0.55 -1.55V1.55M-1.55 -0.55H1.55M-1.55 0.55H1.55" '
        f'fill="none" stroke="{c}" stroke-width="0.42"/>'
    ),
    Technique.SERIAL_PUNCTURE: lambda c: "".join(
        f'<circle cx="{x}" cy="0" r="0.5" fill="{c}"/>' for x in (-1.3, 0, 1.3)
    ),
    Technique.MICRO_DROPLET: lambda c: (
        f'<circle r="0.75" fill="none" stroke="{c}" stroke-width="0.45"/>'
    ),
}

# --- ring: plane ---


def _ring(width: float, dash: str = "") -> Figure:
    return lambda colour: _circle(RING_MM, "none", colour, width, dash)


RINGS: dict[Plane, Figure] = {
    Plane.INTRADERMAL: _ring(0.4, "0.01 0.95"),
    Plane.SUBCUTANEOUS: _ring(0.3),
    Plane.INTRAMUSCULAR: _ring(0.4, "1.1 1.3"),
    Plane.SUBMUSCULAR: _ring(0.4, "3.4 1.42"),
    Plane.DEEP_FAT: _ring(0.75),
    Plane.SUBMUCOSAL: _ring(0.4, "2 0.9 0.01 0.9"),
    Plane.SUPRAPERIOSTEAL: lambda c: (
        _circle(RING_MM, "none", c, 0.22) + _circle(RING_MM - 0.44, "none", c, 0.22)
    ),
}
