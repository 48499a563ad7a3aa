"""An assessment on the drawn face."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping

from clinic.atlas.charts import AreaChart, area_chart
from planning.assessment import RegionGrade, Scale
from planning.atlas.areas import Area, Shade
from planning.atlas.regions import Region
from planning.vocabulary import Side, View

FACE = (View.FRONT, View.RIGHT, View.LEFT)
MARKS = {Scale.VOLUME: "", Scale.MOVEMENT: "M"}
"""What stands before the grade on the drawing; static/js/assessments.js repeats it."""


def grade_charts(
    grades: Iterable[RegionGrade],
    *,
    views: Iterable[View] = FACE,
    href: Callable[[Region], str] = lambda region: "",
) -> list[AreaChart]:
    """
    The views with each graded side shaded by its grade, and the grade written on it.

    Args:
        href: where a touch on a region leads; by itself nowhere.
    """
    by_region: dict[Region, list[RegionGrade]] = defaultdict(list)
    for row in grades:
        by_region[row.region].append(row)

    def area(region: Region) -> Area:
        rows = by_region.get(region, [])
        return Area(region, _label(region, rows), href(region), _shades(rows))

    return [
        area_chart(view, area, label=f"Grades by region, {view.label.lower()}") for view in views
    ]


def _shades(rows: list[RegionGrade]) -> Mapping[Side, Shade]:
    """As a whole where all is graded so, else by side: a whole then counts for both sides."""
    is_whole = all(side is Side.MIDLINE for row in rows for side, _ in row.by_side)
    graded: dict[Side, dict[Scale, int]] = defaultdict(dict)
    for row in rows:
        for side, grade in row.by_side:
            both = side is Side.MIDLINE and not is_whole
            for each in (Side.RIGHT, Side.LEFT) if both else (side,):
                graded[each][row.scale] = grade
    return {side: _shade(scales) for side, scales in graded.items()}


def _shade(scales: Mapping[Scale, int]) -> Shade:
    """As dark as the higher of the grades; "2", "M3", "2 M3"."""
    text = " ".join(f"{MARKS[scale]}{scales[scale]}" for scale in Scale if scale in scales)
    return Shade(str(max(scales.values())), text)


def _label(region: Region, rows: list[RegionGrade]) -> str:
    """ "Zygomatic region (cheekbone): loss of volume right 2 moderate, left 3 severe"."""
    said = "; ".join(
        f"{row.scale.label.lower()} "
        + ", ".join(
            f"{'whole' if side is Side.MIDLINE else side.label.lower()} {row.scale.word(grade)}"
            for side, grade in row.by_side
        )
        for row in rows
        if row.by_side
    )
    return f"{region.full_label}: {said}" if said else region.full_label
