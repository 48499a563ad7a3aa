"""
Which places of the face are marked on a photograph, so that two of one view can be laid over each
other: three in each view, such as hardly move with the face.

Source: `planning.sources`, FACE_LANDMARKS. Which three serve a view is our choice.

>>> [landmark.label for landmark in marks_of(PhotoView.FRONT).landmarks][0]
'Inner corner of the right eye'
"""

from __future__ import annotations

from dataclasses import dataclass

from planning.standard_views import PhotoView
from planning.vocabulary import Side, Term


class Landmark(Term):
    """A place that can be found again. A side is the patient's own."""

    EYE_IN_RIGHT = "eye_in_right", "Inner corner of the right eye"
    EYE_IN_LEFT = "eye_in_left", "Inner corner of the left eye"
    EYE_OUT_RIGHT = "eye_out_right", "Outer corner of the right eye"
    EYE_OUT_LEFT = "eye_out_left", "Outer corner of the left eye"
    NOSE_BASE = "nose_base", "Where nose and upper lip meet"
    EAR_RIGHT = "ear_right", "Notch above the flap of the right ear"
    EAR_LEFT = "ear_left", "Notch above the flap of the left ear"
    JAW_RIGHT = "jaw_right", "Right angle of the jaw"
    JAW_LEFT = "jaw_left", "Left angle of the jaw"
    BREASTBONE = "breastbone", "Notch above the breastbone"
    KNUCKLE_RIGHT = "knuckle_right", "Knuckle of the right middle finger"
    KNUCKLE_LEFT = "knuckle_left", "Knuckle of the left middle finger"
    FINGERTIP_RIGHT = "fingertip_right", "Tip of the right middle finger"


@dataclass(frozen=True, slots=True)
class MarkSet:
    """
    The marks of a view.

    Attributes:
        has_sides: whether the first two are the right and the left one of a pair and the third lies
            between them, so that one side can be mirrored onto the other.
    """

    landmarks: tuple[Landmark, Landmark, Landmark]
    has_sides: bool = False

    def of_side(self, side: Side) -> Landmark:
        """The pair's mark of the right or the left side."""
        return self.landmarks[0 if side is Side.RIGHT else 1]


_FROM_RIGHT = MarkSet((Landmark.EYE_OUT_RIGHT, Landmark.EAR_RIGHT, Landmark.NOSE_BASE))
_FROM_LEFT = MarkSet((Landmark.EYE_OUT_LEFT, Landmark.EAR_LEFT, Landmark.NOSE_BASE))

_MARKS: dict[PhotoView, MarkSet] = {
    PhotoView.FRONT: MarkSet(
        (Landmark.EYE_IN_RIGHT, Landmark.EYE_IN_LEFT, Landmark.NOSE_BASE), has_sides=True
    ),
    PhotoView.OBLIQUE_RIGHT: _FROM_RIGHT,
    PhotoView.OBLIQUE_LEFT: _FROM_LEFT,
    PhotoView.PROFILE_RIGHT: _FROM_RIGHT,
    PhotoView.PROFILE_LEFT: _FROM_LEFT,
    PhotoView.NECK: MarkSet(
        (Landmark.JAW_RIGHT, Landmark.JAW_LEFT, Landmark.BREASTBONE), has_sides=True
    ),
    PhotoView.HANDS: MarkSet(
        (Landmark.KNUCKLE_RIGHT, Landmark.KNUCKLE_LEFT, Landmark.FINGERTIP_RIGHT)
    ),
}


def marks_of(view: PhotoView) -> MarkSet:
    return _MARKS[view]
