"""Everything a chart note says, gathered for its template."""

from dataclasses import dataclass

from django.utils import timezone

from clinic.policy.models import ClinicPolicy
from clinic.policy.queries import current_policy
from planning.ages import age_years
from planning.atlas.cautions import Caution, Level, cautions_for
from planning.atlas.drawing import draw_view
from planning.atlas.marks import LegendEntry, Mark, legend
from planning.atlas.regions import Region
from planning.totals import Totals
from planning.vocabulary import Jaw, Plane, ProductKind, Technique, View
from records.reviews.models import Review
from records.sessions.models import Addendum, InjectionEntry, SessionUnit, TreatmentSession
from records.sessions.queries.flags import ShownFlag, shown_flags
from records.sessions.queries.points import session_points, session_totals
from records.sessions.queries.tray import session_tray


@dataclass(frozen=True)
class RegionCaution:
    """A caution of the face atlas for a region that was treated."""

    region: Region
    caution: Caution


@dataclass(frozen=True)
class UnitRow:
    """A unit on the session's tray and what the session drew from it, in base units."""

    tray: SessionUnit
    drawn: int


@dataclass(frozen=True)
class NoteContent:
    """What the note shows, in reading order."""

    policy: ClinicPolicy
    session: TreatmentSession
    age: int
    maps: list[str]
    legend: list[LegendEntry]
    points: list[InjectionEntry]
    totals: Totals
    unit_rows: list[UnitRow]
    flags: list[ShownFlag]
    cautions: list[RegionCaution]
    reviews: list[Review]
    addenda: list[Addendum]


def note_content(session: TreatmentSession) -> NoteContent:
    """The note of `session` as it stands; ten queries, however many points."""
    policy = current_policy()
    points = list(session_points(session))
    tray = list(session_tray(session))
    totals = session_totals(points)
    drawn = {row.unit_key: row.amount for row in totals.per_unit}
    return NoteContent(
        policy=policy,
        session=session,
        age=age_years(session.patient.birth_date, timezone.localdate(session.started_at)),
        maps=_maps(session, points),
        legend=_legend(points),
        points=points,
        totals=totals,
        unit_rows=[UnitRow(row, drawn.get(row.unit_id, 0)) for row in tray],
        flags=shown_flags(session, points, tray, policy),
        cautions=_cautions(points),
        reviews=list(session.reviews.order_by("due_on")),
        addenda=list(session.addenda.select_related("author", "point")),
    )


def _maps(session: TreatmentSession, points: list[InjectionEntry]) -> list[str]:
    """The views that hold points, the front view first; the empty front view without any."""
    used = [view for view in View if any(point.view == view for point in points)]
    return [
        draw_view(
            view,
            Jaw(session.jaw),
            marks=[mark_of(point) for point in points if point.view == view],
        )
        for view in used or [View.FRONT]
    ]


def _legend(points: list[InjectionEntry]) -> list[LegendEntry]:
    """The signs that this note's map uses."""
    used = {point.technique for point in points} | {point.plane for point in points}
    used |= {point.unit.lot.product.kind for point in points}
    return [entry for entry in legend() if entry.term in used]


def mark_of(point: InjectionEntry) -> Mark:
    """The point as the chart draws it."""
    return Mark(
        number=point.number,
        x_dmm=point.x_dmm,
        y_dmm=point.y_dmm,
        plane=Plane(point.plane),
        technique=Technique(point.technique),
        kind=ProductKind(point.unit.lot.product.kind),
    )


def _cautions(points: list[InjectionEntry]) -> list[RegionCaution]:
    """High and raised cautions of the treated regions, each once."""
    regions = dict.fromkeys(Region(point.region) for point in points)
    return [
        RegionCaution(region, caution)
        for region in regions
        for caution in cautions_for(region)
        if caution.level is not Level.PRESENT
    ]
