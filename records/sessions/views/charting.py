"""What the charting screen, the signed page and each of their fragments are filled with."""

from dataclasses import dataclass

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone

from clinic.stock.errors import StockError
from planning.ages import age_years
from planning.amounts import format_amount
from planning.atlas.locate import mirror
from planning.atlas.region_map import DRAWN_VIEWS
from planning.dilution import centiunits_per_tenth_ml
from planning.vocabulary import Jaw, Measure, ProductKind, Side, View
from records.reviews.services import planned_review_dates
from records.sessions.drawing import drawing_seal, point_marks
from records.sessions.errors import SessionError
from records.sessions.models import InjectionEntry, SessionUnit, TreatmentSession
from records.sessions.queries.flags import shown_flags
from records.sessions.queries.points import session_points, session_totals
from records.sessions.queries.tray import session_tray

# What an act of the charting screen may refuse with a sentence.
REFUSALS = (SessionError, StockError)

# Offered at once above the keys; common practice, no source. Any other amount is typed.
STEPS = {
    Measure.VOLUME: ["0.05", "0.1", "0.15", "0.2", "0.3", "0.5"],
    Measure.DOSE: ["1", "2", "2.5", "4", "5", "10"],
}
SETTINGS = ["plane", "technique", "instrument", "gauge", "length_mm", "aspiration"]


@dataclass(frozen=True)
class TrayCard:
    """A unit on the tray with the amount last drawn from it, as typed text."""

    row: SessionUnit
    points: int
    last_amount: str
    can_put_back: bool

    @property
    def unit(self):
        return self.row.unit

    @property
    def made_up(self) -> bool:
        """Whether it has more to tell than a syringe: shared, or made up, or with hours to keep."""
        opening = self.unit.opening
        shared = opening.patient_id is None
        return shared or bool(opening.diluent_ul or opening.use_before) or self.is_toxin

    @property
    def is_toxin(self) -> bool:
        return self.unit.lot.product.kind == ProductKind.TOXIN

    @property
    def strength(self) -> str:
        """ "4 units": what 0.1 mL of a made-up vial holds; empty where that is not known."""
        diluent = self.unit.opening.diluent_ul
        if not diluent or self.unit.measure != Measure.DOSE:
            return ""
        exact = centiunits_per_tenth_ml(self.unit.content, diluent)
        about = "" if exact.denominator == 1 else "about "
        return about + format_amount(round(exact), Measure.DOSE, no_break=True)


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


def session_context(session: TreatmentSession) -> dict:
    """Everything shown of a session that can change while it is worked on."""
    points, tray = list(session_points(session)), list(session_tray(session))
    review = planned_review_dates(timezone.localdate(session.started_at)) if points else None
    last = points[-1] if points else None
    return {
        "session": session,
        "points": points,
        "rows": [(point, _mirrored(point)) for point in points],
        "cards": [_card(row, points) for row in tray],
        "totals": session_totals(points),
        "flags": shown_flags(session, points, tray),
        "review": review,
        "views": [
            {"view": view, "marks": point_marks(points, view), "count": count}
            for view in DRAWN_VIEWS
            for count in [sum(point.view == view for point in points)]
        ],
        "last": last,
    }


def page_context(session: TreatmentSession) -> dict:
    """`session_context` with what stays the same while the page is open."""
    context = session_context(session)
    patient = session.patient
    context |= {
        "patient": patient,
        "age": age_years(patient.birth_date, timezone.localdate(session.started_at)),
        "alerts": list(patient.alerts.current()),
        "drawings": [(view, _drawing_url(view, Jaw(session.jaw))) for view in DRAWN_VIEWS],
    }
    return context


def _drawing_url(view: View, jaw: Jaw) -> str:
    return f"{reverse('session-drawing', args=[view, jaw])}?v={drawing_seal(view, jaw)}"


def fragments(request: HttpRequest, session: TreatmentSession, said: str) -> HttpResponse:
    """The parts of the screen as they are now; `said` is announced."""
    context = session_context(session) | {"said": said, "can_edit": True}
    return render(request, "sessions/_parts.html", context)


def refused(message: str, status: int = 422) -> JsonResponse:
    """A sentence for the page; nothing was changed."""
    return JsonResponse({"message": message}, status=status)


def last_settings(context: dict) -> dict:
    """The choices of the last point, as the panel's first values."""
    last = context["last"]
    if last is None:
        cards = context["cards"]
        return {"unit": cards[0].unit.pk} if len(cards) == 1 else {}
    initial = {name: getattr(last, name) for name in SETTINGS}
    return initial | {"unit": last.unit_id, "amount": last.plain_amount}


def _card(row: SessionUnit, points: list[InjectionEntry]) -> TrayCard:
    drawn = [point for point in points if point.unit_id == row.unit_id]
    last = drawn[-1].plain_amount if drawn else ""
    untouched = not drawn and row.unit.drawn == row.unit.wasted == 0
    return TrayCard(row, len(drawn), last, untouched)


def _mirrored(point: InjectionEntry) -> dict:
    view, x_dmm, y_dmm = mirror(View(point.view), point.x_dmm, point.y_dmm)
    return {"view": view, "x_dmm": x_dmm, "y_dmm": y_dmm, "side": Side(point.side).opposite}
