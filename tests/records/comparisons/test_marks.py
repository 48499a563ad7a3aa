"""Marks are set once, moved with a trace, and lie in their picture."""

import json

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from clinic.audit.models import AuditEvent
from planning.landmarks import Landmark
from records.comparisons.models import PhotographMark
from records.comparisons.queries import places_on
from records.comparisons.services.marks import place_marks
from records.photographs.errors import PhotographGone
from records.photographs.services.keeping import take_out_photograph
from tests.records.comparisons.conftest import PLACES

pytestmark = pytest.mark.django_db


@pytest.fixture
def mark(first, injector):
    place_marks(photograph=first, places=PLACES, actor=injector)
    return PhotographMark.objects.get(landmark=Landmark.NOSE_BASE)


def test_moved_and_left_out_marks_are_in_the_trail(mark, first, injector):
    moved = {Landmark.EYE_IN_RIGHT: (351, 240), Landmark.EYE_IN_LEFT: (450, 240)}
    place_marks(photograph=first, places=moved, actor=injector)
    assert places_on(first) == moved
    event = AuditEvent.objects.filter(action="photograph.marked").latest("id")
    assert json.loads(event.data) == {
        "before": {"eye_in_right": [350, 240], "nose_base": [400, 340]},
        "after": {"eye_in_right": [351, 240], "nose_base": None},
    }


def test_saving_the_same_marks_says_nothing(mark, first, injector):
    place_marks(photograph=first, places=PLACES, actor=injector)
    assert AuditEvent.objects.filter(action="photograph.marked").count() == 1


def test_a_picture_taken_out_is_marked_no_more(first, injector):
    take_out_photograph(photograph=first, reason="Blurred", actor=injector)
    with pytest.raises(PhotographGone):
        place_marks(photograph=first, places=PLACES, actor=injector)


def refused(change, *args, **fields) -> str:
    with pytest.raises(IntegrityError) as error, transaction.atomic():
        change(*args, **fields)
    return str(error.value)


@pytest.mark.parametrize("fields", [{"x": 800}, {"y": 600}])
def test_a_mark_lies_in_its_picture(mark, first, injector, fields):
    assert "lies outside" in refused(PhotographMark.objects.filter(pk=mark.pk).update, **fields)
    new = {"x": 0, "y": 0, "landmark": Landmark.JAW_LEFT, "photograph": first, **fields}
    assert "lies outside" in refused(
        PhotographMark.objects.create, placed_at=timezone.now(), placed_by=injector, **new
    )


def test_a_landmark_is_known_and_marked_once(mark):
    rows = PhotographMark.objects.filter(pk=mark.pk)
    assert "landmark_is_known" in refused(rows.update, landmark="chin_tip")
    told = refused(rows.update, landmark=Landmark.EYE_IN_LEFT)
    assert "photograph_mark_once_a_landmark" in told or "landmark" in told
