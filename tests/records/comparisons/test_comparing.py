"""Pictures laid over each other by their marks, and one side over the other."""

from datetime import timedelta

import pytest
from django.utils import timezone

from planning.standard_views import Shot
from planning.vocabulary import Side
from records.comparisons.enums import Fit
from records.comparisons.queries import (
    agreed_uses,
    compare,
    compare_sides,
    shots_of,
    treatments_between,
)
from records.comparisons.services.marks import place_marks
from records.photographs.enums import Use
from records.photographs.services.keeping import take_out_photograph
from records.sessions.services.signing import sign_session
from tests.factories import make_photograph, make_session
from tests.records.comparisons.conftest import PLACES, TURNED
from tests.records.sessions.pictures import drawing, encoded

pytestmark = pytest.mark.django_db

# Written down after the day, so that it can lie between two pictures.
LATE = {"late_reason": "The tablet was away"}


def test_the_earlier_picture_comes_first_whichever_was_chosen_first(marked):
    first, second = marked
    comparison = compare(second, first)
    assert [layer.photograph for layer in comparison.layers] == [first, second]
    assert comparison.frame == (0, 0, 800, 600)


@pytest.mark.parametrize("fit", Fit)
def test_each_mark_comes_to_lie_on_its_own(marked, fit):
    comparison = compare(*marked, fit)
    assert (comparison.marks, comparison.trouble) == (3, "")
    placement = comparison.layers[1].placement
    for landmark, place in TURNED.items():
        assert placement.of(*place) == pytest.approx(PLACES[landmark], abs=1e-6)


def test_only_marks_that_both_have_count(first, second, injector):
    place_marks(photograph=first, places=PLACES, actor=injector)
    pair = {key: TURNED[key] for key in list(TURNED)[:2]}
    place_marks(photograph=second, places=pair, actor=injector)
    assert compare(first, second).marks == 2
    assert "at least 3" in compare(first, second, Fit.STRETCHED).trouble


def test_without_marks_the_later_picture_is_as_wide_as_the_earlier_one(first, injector, patient):
    small = make_photograph(
        injector, patient, sent=encoded(drawing(400, 300)),
        taken_at=first.taken_at + timedelta(days=1),
    )  # fmt: skip
    comparison = compare(first, small)
    assert "mark the same two or three places" in comparison.trouble
    assert comparison.layers[1].placement.of(400, 300) == (800, 600)


def test_one_side_is_mirrored_onto_the_treated_one(marked):
    comparison = compare_sides(marked[0], Side.RIGHT)
    treated, other = comparison.layers
    # The patient's right is at the left of the picture; the midline stands at 400.
    assert comparison.frame == (0, 0, 400, 600)
    assert treated.outline == other.outline == ((0, 0), (400, 0), (400, 600), (0, 600))
    assert other.placement.of(450, 240) == pytest.approx((350, 240))
    assert comparison.photographs == [marked[0]]


def test_the_left_side_is_the_right_half_of_the_picture(marked):
    assert compare_sides(marked[0], Side.LEFT).frame == (400, 0, 400, 600)


def test_sides_need_marks(first):
    comparison = compare_sides(first, Side.RIGHT)
    assert "mark this picture first" in comparison.trouble
    assert comparison.layers[0].outline is None


def test_treatments_lie_between_the_days_of_both(first, second, patient, injector):
    long_ago = make_session(
        injector, patient, started_at=first.taken_at - timedelta(days=9), **LATE
    )
    sign_session(session=long_ago, remainders={}, actor=injector)
    between = make_session(
        injector, patient, started_at=first.taken_at + timedelta(hours=2), **LATE
    )
    rows = treatments_between(compare(first, second))
    assert [row.session for row in rows] == [between]
    rows = treatments_between(compare_sides(second, Side.RIGHT))
    assert [row.session for row in rows] == [between, long_ago]


def test_what_is_agreed_is_agreed_for_both_and_as_long_as_for_both(first, injector, patient):
    until = timezone.localdate() + timedelta(days=30)
    other = make_photograph(injector, patient, uses={Use.RECORD: None, Use.TEACHING: until})
    today = timezone.localdate()
    assert agreed_uses([first], on=today) == {Use.RECORD: None, Use.TEACHING: None}
    assert agreed_uses([first, other], on=today) == {Use.RECORD: None, Use.TEACHING: until}
    assert agreed_uses([first, other], on=until + timedelta(days=1)) == {Use.RECORD: None}


def test_what_pictures_show_is_counted(first, second, injector, patient):
    frown = make_photograph(injector, patient, shot=Shot.of("front:frown"))
    gone = make_photograph(injector, patient, shot=Shot.of("hands:rest"))
    take_out_photograph(photograph=gone, reason="Blurred", actor=injector)
    counted = [(row.shot.key, row.count, row.latest) for row in shots_of(patient)]
    assert counted == [("front:rest", 2, second.taken_at), ("front:frown", 1, frown.taken_at)]
