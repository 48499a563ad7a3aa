"""The shared words: keys are stored, so they stay as they are."""

import pytest

from planning.vocabulary import (
    Aspiration,
    Instrument,
    Jaw,
    Measure,
    Plane,
    ProductKind,
    Side,
    Technique,
    View,
)


@pytest.mark.parametrize(
    ("words", "keys"),
    [
        (View, "front right left neck hands picture"),
        (Side, "left right midline"),
        (Jaw, "narrower average broader"),
        (
            Plane,
            "intradermal subcutaneous intramuscular submuscular deep_fat submucosal "
            "supraperiosteal",
        ),
        (
            Technique,
            "bolus linear_retrograde linear_anterograde fanning cross_hatching serial_puncture "
            "micro_droplet",
        ),
        (ProductKind, "ha_filler other_filler toxin hyaluronidase anaesthetic emergency"),
        (Instrument, "needle cannula"),
        (Aspiration, "not_done negative positive"),
        (Measure, "volume dose"),
    ],
)
def test_stored_keys_never_change(words, keys):
    assert [word.value for word in words] == keys.split()
    assert words.choices() == [(word.value, word.label) for word in words]
    assert all(isinstance(word, str) and word.label for word in words)


def test_planes_run_from_the_skin_to_the_bone():
    # Five basic layers of the face: Mendelson and Wong, chapter text. Mark: read.
    layers = [plane.layer for plane in Plane if plane is not Plane.SUBMUCOSAL]
    assert layers == [1, 2, 3, 4, 4, 5]
    assert Plane.SUBMUCOSAL.layer is None


def test_toxin_and_hyaluronidase_are_doses_and_the_rest_volumes():
    doses = {kind for kind in ProductKind if kind.measure is Measure.DOSE}
    assert doses == {ProductKind.TOXIN, ProductKind.HYALURONIDASE}


@pytest.mark.parametrize("words", [Side, View])
def test_the_opposite_of_the_opposite_is_the_thing_itself(words):
    assert all(word.opposite.opposite is word for word in words)


def test_only_a_photograph_has_no_drawing_and_only_the_side_views_change_places():
    assert [view for view in View if not view.is_drawn] == [View.PICTURE]
    assert {view for view in View if view.opposite is not view} == {View.RIGHT, View.LEFT}
