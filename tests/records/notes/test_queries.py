"""What a note gathers, and what it costs."""

import uuid

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from planning.atlas.cautions import Level
from records.notes.queries import note_content
from records.notes.services import note_html
from records.sessions.models import TreatmentSession
from records.sessions.services.markings import plan_marking, unplan_marking
from records.sessions.services.pictures import calibrate, drop_picture
from records.sessions.services.points import remove_point
from tests.factories import (
    make_line,
    make_picture,
    make_plan,
    make_point,
    make_session_with_unit,
)


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
    assert queries_of(unsigned) == with_four <= 29


def test_a_removed_point_is_not_in_the_note(unsigned):
    remove_point(point=unsigned.points.get(number=2), actor=unsigned.injector)
    assert [point.number for point in note_content(loaded(unsigned)).points] == [1, 3, 4]


def test_cautions_of_the_lowest_level_are_left_out(unsigned):
    cautions = note_content(loaded(unsigned)).cautions
    assert {row.caution.level for row in cautions} == {Level.HIGH, Level.RAISED}
    assert len(cautions) == len({(row.region, row.caution.text) for row in cautions})


def plan(session, **fields):
    place = {"view": "front", "x_dmm": 500, "y_dmm": 330, "marked_at": timezone.now(), **fields}
    return plan_marking(session=session, key=uuid.uuid4(), actor=session.injector, **place)


def test_what_was_planned_and_not_treated_is_in_the_note(unsigned, filler):
    given, given_up, left = plan(unsigned), plan(unsigned, x_dmm=-500), plan(unsigned, y_dmm=340)
    make_point(unsigned, filler, amount=5, marking_id=given.pk)
    unplan_marking(marking=given_up, actor=unsigned.injector)
    assert note_content(loaded(unsigned)).untreated == [left]
    text = note_html(unsigned)
    assert "Planned and not treated:</strong> Zygomatic region (cheekbone), left.</p>" in text


def test_a_planned_place_whose_point_was_removed_is_untreated_again(unsigned, filler):
    place = plan(unsigned)
    point = make_point(unsigned, filler, amount=5, marking_id=place.pk)
    remove_point(point=point, actor=unsigned.injector)
    assert note_content(loaded(unsigned)).untreated == [place]


def test_photographs_without_points_are_counted(unsigned, filler):
    used, removed, _ = (make_picture(unsigned) for _ in range(3))
    drop_picture(picture=removed, actor=unsigned.injector)
    calibrate(
        picture=used, x1=336, y1=240, x2=464, y2=240, distance_dmm=617, actor=unsigned.injector
    )
    make_point(
        unsigned, filler, amount=5, view="picture", picture_id=used.pk, x_dmm=900, y_dmm=900,
        region="zygomatic", side="left",
    )  # fmt: skip
    assert note_content(loaded(unsigned)).bare_pictures == 1
    assert "1 photograph without points is kept with the record." in note_html(unsigned)


def test_a_note_with_nothing_of_the_kind_says_nothing_of_it(unsigned):
    text = note_html(unsigned)
    assert "Planned and not treated" not in text
    assert "without points" not in text


@pytest.mark.parametrize("part", ["charts", "signs"])
def test_the_same_session_gives_the_same_drawing(unsigned, part):
    one, two = (getattr(note_content(loaded(unsigned)), part) for _ in range(2))
    assert one == two


def test_a_plan_is_printed_with_what_was_done(injector, patient, filler):
    """0.4 mL was planned for the left cheekbone and nothing for the right one."""
    line = make_line(filler.lot.product, amount=400)
    make_plan(injector, patient, None, line)
    session = make_session_with_unit(injector, patient, filler)
    make_point(session, filler, amount=300)
    make_point(session, filler, amount=100, x_dmm=-500)
    text = " ".join(note_html(loaded(session)).split())
    assert "Plan and done" in text
    assert "\u22120.1\u00a0mL" in text or "\u22120.1 mL" in text
    assert "Not planned: point 2." in text
