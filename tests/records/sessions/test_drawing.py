"""The chart of a session."""

from planning.vocabulary import View
from records.sessions.drawing import point_marks
from records.sessions.queries.points import session_points
from tests.factories import make_point, make_product, make_session_with_unit, make_units


def test_marks_of_a_view_are_those_of_its_points(injector, owner, patient):
    unit = make_units(owner, make_product())[0]
    session = make_session_with_unit(injector, patient, unit)
    front = make_point(session, unit)
    left = make_point(session, unit, view="left", x_dmm=700, y_dmm=850)
    points = list(session_points(session))
    marks = {view: point_marks(points, view) for view in View}
    assert str(front.key) in marks[View.FRONT]
    assert str(left.key) not in marks[View.FRONT]
    assert str(left.key) in marks[View.LEFT]
    assert "data-point" not in marks[View.RIGHT]
    assert "1: Zygomatic region, left, 0.2 mL, supraperiosteal, bolus" in marks[View.FRONT]
