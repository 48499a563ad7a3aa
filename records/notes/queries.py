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
from records.notes.afterwards import Afterwards, after_session
from records.notes.before import Before, before_session
from records.notes.charts import ChartRow, SignGroup, chart_rows, signs_of
from records.occlusions.queries import Log, log_of, logs
from records.reviews.models import Review
from records.sessions.models import (
    Addendum,
    Anaesthesia,
    InjectionEntry,
    Marking,
    SessionUnit,
    TreatmentSession,
)
from records.sessions.queries.around import Around
from records.sessions.queries.flags import ShownFlag, shown_flags
from records.sessions.queries.made_up import MadeUp
from records.sessions.queries.planned import PlanAndDone, plan_and_done
from records.sessions.queries.points import session_points, session_totals
from records.sessions.queries.tray import session_tray, wasted_under_way
from records.time_out.queries import TimeOut


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
    before: Before
    time_outs: list[TimeOut]
    totals: Totals
    unit_rows: list[UnitRow]
    flags: list[ShownFlag]
    cautions: list[RegionCaution]
    occlusions: list[Log]
    reviews: list[Review]
    afterwards: Afterwards
    addenda: list[Addendum]


def note_content(session: TreatmentSession, *, picture_px: int | None = None) -> NoteContent:
    """
    The note of `session` as it stands; as many queries, however many points.

    Args:
        picture_px: the long side of the photographs under its points; None: as they are kept.
    """
    policy = current_policy()
    points = list(session_points(session))
    tray = list(session_tray(session))
    totals = session_totals(points)
    around = Around([session], tray)
    drawn = {row.unit_key: row.amount for row in totals.per_unit}
    wasted = wasted_under_way(session, tray)
    return NoteContent(
        policy=policy,
        session=session,
        age=age_years(session.patient.birth_date, timezone.localdate(session.started_at)),
        charts=chart_rows(session, points, picture_px=picture_px),
        signs=signs_of(points),
        outline=_outline(session),
        marks_text=_marks_text(points),
        points=points,
        planned=plan_and_done(session, points, tray),
        untreated=_untreated(session, points),
        bare_pictures=_bare_pictures(session, points),
        anaesthesia=list(session.anaesthesia.standing()),
        before=before_session(session, points, around.decisions(session)),
        time_outs=around.time_outs(session),
        totals=totals,
        unit_rows=[
            UnitRow(row, drawn.get(row.unit_id, 0), wasted.get(row.unit_id, 0)) for row in tray
        ],
        flags=shown_flags(session, points, tray, policy, around),
        cautions=_cautions(points),
        occlusions=[log_of(row) for row in logs().filter(session=session).order_by("at")],
        reviews=list(session.reviews.order_by("due_on")),
        afterwards=after_session(session),
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
