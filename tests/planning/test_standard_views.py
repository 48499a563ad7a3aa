"""Which photographs are usual, and that each can be chosen."""

import pytest

from planning.standard_views import (
    SHOTS,
    SOURCES,
    PhotoState,
    PhotoView,
    Shot,
    merged,
    standard_series,
)
from planning.vocabulary import ProductKind


def test_a_shot_is_found_by_its_key() -> None:
    for shot in SHOTS:
        assert Shot.of(shot.key) == shot


@pytest.mark.parametrize("key", ["", "front", "front:", "front:laugh", "back:rest", "front:rest:x"])
def test_no_other_key_is_one(key: str) -> None:
    with pytest.raises(ValueError, match="is not a valid"):
        Shot.of(key)


def test_each_can_be_chosen_once() -> None:
    assert len(set(SHOTS)) == len(SHOTS)


def test_a_filler_is_photographed_from_five_sides_at_rest() -> None:
    """Front, both obliques, both profiles: textbooks of facial photography, from memory."""
    series = standard_series(ProductKind.HA_FILLER)
    at_rest = {shot.view for shot in series if shot.state is PhotoState.REST}
    assert at_rest == set(PhotoView) - {PhotoView.NECK, PhotoView.HANDS}


def test_a_toxin_is_photographed_at_rest_and_in_movement() -> None:
    """Static and dynamic pictures at baseline: abstract of doi 10.1201/9781003304623-11."""
    states = [shot.state for shot in standard_series(ProductKind.TOXIN)]
    assert PhotoState.REST in states
    assert {PhotoState.FROWN, PhotoState.BROWS_RAISED, PhotoState.SMILE} < set(states)


def test_an_anaesthetic_asks_for_none() -> None:
    assert standard_series(ProductKind.ANAESTHETIC) == ()


def test_every_usual_shot_can_be_chosen() -> None:
    assert {shot for kind in ProductKind for shot in standard_series(kind)} <= set(SHOTS)


def test_two_series_become_one_without_a_shot_twice() -> None:
    both = merged(standard_series(kind) for kind in (ProductKind.TOXIN, ProductKind.HA_FILLER))
    assert len(set(both)) == len(both) == 7 + 6 - 2  # front at rest and smiling are in both
    assert list(both) == sorted(both, key=SHOTS.index)


def test_the_series_say_where_they_come_from() -> None:
    assert all(str(source) for source in SOURCES)
