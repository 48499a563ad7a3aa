"""What the pages of one session are filled with."""

from dataclasses import dataclass

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest
from django.shortcuts import get_object_or_404
from django.utils import timezone

from clinic.stock.errors import StockError
from clinic.stock.models import UnitOfStock
from planning.ages import age_years
from planning.atlas.drawing import VIEW_SIDES
from planning.atlas.region_map import DRAWN_VIEWS
from planning.review_dates import ReviewDateError
from planning.review_rules import Visit
from planning.vocabulary import Jaw
from records.drawings.queries import drawing_url
from records.reviews.queries.asked import planned_visits
from records.sessions.drawing import point_marks
from records.sessions.errors import SessionError
from records.sessions.models import InjectionEntry, SessionUnit, TreatmentSession
from records.sessions.picture_charts import picture_charts
from records.sessions.queries.around import Around
from records.sessions.queries.flags import shown_flags
from records.sessions.queries.made_up import MadeUp
from records.sessions.queries.planned import plan_and_done
from records.sessions.queries.points import session_points, session_totals
from records.sessions.queries.tray import session_tray

# What an act on a session may refuse with a sentence.
REFUSALS = (SessionError, StockError, ReviewDateError)


@dataclass(frozen=True)
class TrayCard:
    """A unit on the tray, and what is to be known of it."""

    row: SessionUnit

    @property
    def unit(self) -> UnitOfStock:
        return self.row.unit

    @property
    def made_up(self) -> MadeUp:
        return MadeUp(self.unit)


def find_session(pk: int) -> TreatmentSession:
    return get_object_or_404(
        TreatmentSession.objects.select_related("patient", "injector", "signed_by"), pk=pk
    )


def own_session(request: HttpRequest, pk: int) -> TreatmentSession:
    """The session, for a change: only who injects writes it down."""
    session = find_session(pk)
    if session.injector_id != request.user.pk:
        raise PermissionDenied
    return session


def _visits(session: TreatmentSession, points: list[InjectionEntry]) -> list[Visit]:
    """What a signature would schedule; where the clinic never opens, signing says so."""
    try:
        return planned_visits(session, points=points)
    except ReviewDateError:
        return []


def page_context(session: TreatmentSession) -> dict:
    """The session as it stands: whom it is about, points, tray, totals, flags, drawings."""
    points, tray = list(session_points(session)), list(session_tray(session))
    around = Around([session], tray)
    patient, day = session.patient, timezone.localdate(session.started_at)
    return {
        "session": session,
        "patient": patient,
        "age": age_years(patient.birth_date, day),
        "alerts": list(patient.alerts.current()),
        "points": points,
        "cards": [TrayCard(row) for row in tray],
        "totals": session_totals(points),
        "anaesthesia": list(session.anaesthesia.standing()),
        "flags": shown_flags(session, points, tray, around=around),
        "time_outs": around.time_outs(session),
        "visits": _visits(session, points) if session.is_open else [],
        "drawings": [
            (view, drawing_url(view, Jaw(session.jaw)), VIEW_SIDES[view]) for view in DRAWN_VIEWS
        ],
        "views": [
            {"view": view, "marks": point_marks(points, view), "count": count}
            for view in DRAWN_VIEWS
            for count in [sum(point.view == view for point in points)]
        ],
        "planned": plan_and_done(session, points, tray),
        "pictures": picture_charts(session, points),
    }
