"""Everything a chart note says, gathered for its template."""

from dataclasses import dataclass

from django.utils import timezone

from clinic.policy.models import ClinicPolicy
from clinic.policy.queries import current_policy
from planning.ages import age_years
from planning.atlas.cautions import Caution, Level, cautions_for
from planning.atlas.regions import Region
from planning.totals import Totals
from planning.vocabulary import Jaw, Technique
from records.notes.charts import ChartRow, SignGroup, chart_rows, signs_of
from records.reviews.models import Review
from records.sessions.models import (
    Addendum,
    Anaesthesia,
    InjectionEntry,
    Marking,
    SessionUnit,
    TreatmentSession,
)
from records.sessions.queries.flags import ShownFlag, shown_flags
from records.sessions.queries.made_up import MadeUp
from records.sessions.queries.planned import PlanAndDone, plan_and_done
from records.sessions.queries.points import session_points, session_totals
from records.sessions.queries.tray import session_tray, wasted_under_way


@dataclass(frozen=True)
class RegionCaution:
    """A caution of the face atlas for a region that was treated."""

    region: Region
    caution: Caution


@dataclass(frozen=True)
class UnitRow:
    """A unit on the session's tray, what was drawn and what was thrown away, in base units."""

    tray: SessionUnit
    drawn: int
    wasted: int

    @property
    def made_up(self) -> MadeUp:
        return MadeUp(self.tray.unit)


@dataclass(frozen=True)
class NoteContent:
    """
    What the note shows, in reading order.

    `untreated` are places planned on the drawing at which no point stands, `bare_pictures` how many
    photographs have none. Both are part of what was signed.
    """

    policy: ClinicPolicy
    session: TreatmentSession
    age: int
    charts: list[ChartRow]
    signs: list[SignGroup]
    outline: str
    marks_text: str
    points: list[InjectionEntry]
    planned: PlanAndDone | None
    untreated: list[Marking]
    bare_pictures: int
    anaesthesia: list[Anaesthesia]
    totals: Totals
    unit_rows: list[UnitRow]
    flags: list[ShownFlag]
    cautions: list[RegionCaution]
    reviews: list[Review]
    addenda: list[Addendum]


def note_content(session: TreatmentSession) -> NoteContent:
    """The note of `session` as it stands; as many queries, however many points."""
    policy = current_policy()
    points = list(session_points(session))
    tray = list(session_tray(session))
    totals = session_totals(points)
    drawn = {row.unit_key: row.amount for row in totals.per_unit}
    wasted = wasted_under_way(session, tray)
    return NoteContent(
        policy=policy,
        session=session,
        age=age_years(session.patient.birth_date, timezone.localdate(session.started_at)),
        charts=chart_rows(session, points),
        signs=signs_of(points),
        outline=_outline(session),
        marks_text=_marks_text(points),
        points=points,
        planned=plan_and_done(session, points, tray),
        untreated=_untreated(session, points),
        bare_pictures=_bare_pictures(session, points),
        anaesthesia=list(session.anaesthesia.standing()),
        totals=totals,
        unit_rows=[
            UnitRow(row, drawn.get(row.unit_id, 0), wasted.get(row.unit_id, 0)) for row in tray
        ],
        flags=shown_flags(session, points, tray, policy),
        cautions=_cautions(points),
        reviews=list(session.reviews.order_by("due_on")),
        addenda=list(session.addenda.select_related("author", "point")),
    )


def _untreated(session: TreatmentSession, points: list[InjectionEntry]) -> list[Marking]:
    ticked_off = {point.marking_id for point in points}
    return [place for place in session.markings.standing() if place.pk not in ticked_off]


def _bare_pictures(session: TreatmentSession, points: list[InjectionEntry]) -> int:
    """Each photograph with points is printed with them; the others are counted."""
    with_points = {point.picture_id for point in points if point.picture_id}
    return session.pictures.standing().exclude(pk__in=with_points).count()


_MEASURES = (
    ("pupil_dmm", "between the pupils"),
    ("face_height_dmm", "face height"),
    ("face_width_dmm", "face width"),
)


def _outline(session: TreatmentSession) -> str:
    """Which outline was chosen and what was measured, where that is not the average one."""
    sentences = []
    if session.jaw != Jaw.AVERAGE:
        sentences.append(f"Outline: {session.get_jaw_display().lower()}.")
    taken = [(name, getattr(session, field)) for field, name in _MEASURES]
    measured = ", ".join(f"{name} {value / 10:g} mm" for name, value in taken if value)
    if measured:
        sentences.append(
            f"On the tablet the front and side views were scaled to this patient: {measured}. Here "
            "they are printed unscaled."
        )
    return " ".join(sentences)


def _marks_text(points: list[InjectionEntry]) -> str:
    """What stands on the drawings besides the signs."""
    sentences = []
    if any(point.technique == Technique.BOLUS for point in points):
        sentences.append(
            "A bolus shows its amount, in mL or units as in the table, where there is room."
        )
    if any(point.reach_x_dmm is not None for point in points):
        sentences.append("A line or fan shows direction and length of the placement.")
    return " ".join(sentences)


def _cautions(points: list[InjectionEntry]) -> list[RegionCaution]:
    """High and raised cautions of the treated regions, each once."""
    regions = dict.fromkeys(Region(point.region) for point in points)
    return [
        RegionCaution(region, caution)
        for region in regions
        for caution in cautions_for(region)
        if caution.level is not Level.PRESENT
    ]
