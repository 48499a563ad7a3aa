"""What a note gathers, and what it costs."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from planning.atlas.cautions import Level
from records.notes.queries import note_content
from records.sessions.models import TreatmentSession
from tests.factories import make_point


def loaded(session) -> TreatmentSession:
    """As the view fetches it."""
    return TreatmentSession.objects.select_related("patient", "injector").get(pk=session.pk)


def queries_of(session) -> int:
    session = loaded(session)
    with CaptureQueriesContext(
        connection,
    ) as queries:
        content = note_content(session)
        assert content.points
    return len(queries)


def test_twenty_points_cost_as_many_queries_as_four(unsigned, filler):
    with_four = queries_of(unsigned)
    for number in range(16):
        make_point(unsigned, filler, amount=5, x_dmm=-500 + 10 * number)
    assert queries_of(unsigned) == with_four <= 12


def test_a_removed_point_is_not_in_the_note(unsigned):
    from records.sessions.services.points import remove_point

    remove_point(point=unsigned.points.get(number=2), actor=unsigned.injector)
    assert [point.number for point in note_content(loaded(unsigned)).points] == [1, 3, 4]


def test_cautions_of_the_lowest_level_are_left_out(unsigned):
    cautions = note_content(loaded(unsigned)).cautions
    assert {row.caution.level for row in cautions} == {Level.HIGH, Level.RAISED}
    assert len(cautions) == len({(row.region, row.caution.text) for row in cautions})


@pytest.mark.parametrize("part", ["charts", "signs"])
def test_the_same_session_gives_the_same_drawing(unsigned, part):
    one, two = (getattr(note_content(loaded(unsigned)), part) for _ in range(2))
    assert one == two
