"""Where a point is: what was said of its place, and what chart or photograph make of it."""

from dataclasses import dataclass
from fractions import Fraction

from planning.atlas.locate import Location, NotOnFace, locate
from planning.vocabulary import Jaw, View
from records.sessions.errors import SessionError
from records.sessions.models import InjectionEntry, TreatmentSession


@dataclass(frozen=True)
class PointDetails:
    """
    What the injector says about a point.

    Attributes:
        unit_id: an open unit of stock on the session's tray.
        x_dmm, y_dmm: tenths of a millimetre on the chart, or on the photograph.
        region, side: empty to take them from the place; the injector may overrule the chart. A
            photograph knows neither, so there they are said.
        reach_x_dmm, reach_y_dmm: where a fan or thread ends; both or neither.
        picture_id: the photograph of the session, with the view "picture" only.
        marking_id: the place marked beforehand that the point ticks off.
        amount: microlitres or hundredths of a unit, by the product; > 0.
        confirmed_odd: what was asked about the amount and confirmed; empty where nothing was.
    """

    unit_id: int
    view: str
    x_dmm: int
    y_dmm: int
    plane: str
    technique: str
    instrument: str
    aspiration: str
    amount: int
    region: str = ""
    side: str = ""
    gauge: int | None = None
    length_mm: int | None = None
    deviation: str = ""
    reach_x_dmm: int | None = None
    reach_y_dmm: int | None = None
    picture_id: int | None = None
    marking_id: int | None = None
    confirmed_odd: str = ""


def columns_of(details: PointDetails, session: TreatmentSession) -> dict:
    """The columns of a point: what was said, and where the chart finds it."""
    columns = dict(vars(details))
    if details.marking_id and not session.markings.filter(pk=details.marking_id).exists():
        raise SessionError("That marking belongs to another session.")
    if details.view == View.PICTURE:
        columns["relative_x_permille"], columns["relative_y_permille"] = _relative_on_picture(
            session, details.picture_id, details.x_dmm, details.y_dmm
        )
        if not details.region or not details.side:
            raise SessionError("Choose region and side: a photograph does not know them.")
        return columns
    if details.picture_id:
        raise SessionError("A point on the drawing belongs to no photograph.")
    location = located(details.view, details.x_dmm, details.y_dmm, session)
    columns["region"] = details.region or location.region.value
    columns["side"] = details.side or location.side.value
    columns["relative_x_permille"] = location.relative_x_permille
    columns["relative_y_permille"] = location.relative_y_permille
    return columns


def move_to(point: InjectionEntry, x_dmm: int, y_dmm: int, session: TreatmentSession) -> None:
    """
    Put a point elsewhere on its view, unsaved. Region and side follow the chart, unless the
    injector had overruled it at the old place; on a photograph they stand as said.

    Raises:
        SessionError: the place is not on the chart or the photograph.
    """
    if point.view == View.PICTURE:
        point.relative_x_permille, point.relative_y_permille = _relative_on_picture(
            session, point.picture_id, x_dmm, y_dmm
        )
    else:
        was = located(point.view, point.x_dmm, point.y_dmm, session)
        now = located(point.view, x_dmm, y_dmm, session)
        if (point.region, point.side) == (was.region, was.side):
            point.region, point.side = now.region.value, now.side.value
        point.relative_x_permille = now.relative_x_permille
        point.relative_y_permille = now.relative_y_permille
    point.x_dmm, point.y_dmm = x_dmm, y_dmm


def _relative_on_picture(
    session: TreatmentSession, picture_id: int | None, x_dmm: int, y_dmm: int
) -> tuple[int, int]:
    """Thousandths of the photograph's width and height."""
    picture = session.pictures.standing().filter(pk=picture_id).first()
    if picture is None:
        raise SessionError("That photograph is not one of this session's.")
    if (scale := picture.scale) is None:
        raise SessionError("Give the photograph its scale first: two places of known distance.")
    sizes = scale.to_dmm(picture.width), scale.to_dmm(picture.height)
    if not (0 <= x_dmm <= sizes[0] and 0 <= y_dmm <= sizes[1]):
        raise SessionError("That place is not on the photograph. Tap inside it.")
    return round(Fraction(1000 * x_dmm, sizes[0])), round(Fraction(1000 * y_dmm, sizes[1]))


def located(view: str, x_dmm: int, y_dmm: int, session: TreatmentSession) -> Location:
    """
    Region, side and relative place on the session's chart.

    Raises:
        SessionError: no region of the chart lies there.
    """
    try:
        return locate(View(view), x_dmm, y_dmm, Jaw(session.jaw))
    except NotOnFace as error:
        raise SessionError("That place is not on the face. Tap inside the drawing.") from error
