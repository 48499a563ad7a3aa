"""
Which photographs are taken of a treatment: views, what the face does in them, and the usual series.

The series are a help to take the same pictures each time, not a rule: the clinic changes them.
Sources: `planning.sources`, PHOTO_SERIES, PHOTO_VIEWS, PHOTO_MOVEMENTS. Which movement belongs to
which treatment follows from the muscles that are treated, and is common practice.

>>> Shot.of("front:frown").label
'Front, frown'
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from planning.sources import PHOTO_MOVEMENTS, PHOTO_SERIES, PHOTO_VIEWS, Source
from planning.vocabulary import ProductKind, Term


class PhotoView(Term):
    """How the patient sits to the camera. A side is the patient's own, the one that is seen."""

    FRONT = "front", "Front"
    OBLIQUE_RIGHT = "oblique_right", "Right oblique, 45°"
    OBLIQUE_LEFT = "oblique_left", "Left oblique, 45°"
    PROFILE_RIGHT = "profile_right", "Right profile"
    PROFILE_LEFT = "profile_left", "Left profile"
    NECK = "neck", "Neck"
    HANDS = "hands", "Backs of the hands"


class PhotoState(Term):
    """What the face does: rest, or a movement as far as it goes."""

    REST = "rest", "Rest"
    BROWS_RAISED = "brows_raised", "Brows raised"
    FROWN = "frown", "Frown"
    EYES_SHUT = "eyes_shut", "Eyes shut tight"
    NOSE_WRINKLED = "nose_wrinkled", "Nose wrinkled"
    SMILE = "smile", "Full smile"
    PUCKER = "pucker", "Lips puckered"
    CHIN_TENSED = "chin_tensed", "Chin tensed"
    CORNERS_DOWN = "corners_down", "Corners of the mouth down"
    JAW_CLENCHED = "jaw_clenched", "Teeth clenched"
    NECK_TENSED = "neck_tensed", "Neck tensed"


@dataclass(frozen=True, slots=True)
class Shot:
    """One picture of a series."""

    view: PhotoView
    state: PhotoState = PhotoState.REST

    @property
    def key(self) -> str:
        """ "front:rest"; stored, so it never changes."""
        return f"{self.view}:{self.state}"

    @property
    def label(self) -> str:
        return f"{self.view.label}, {self.state.label.lower()}"

    @classmethod
    def of(cls, key: str) -> Shot:
        """
        The shot of a key.

        Raises:
            ValueError: there is no such view, or no such state.
        """
        view, _, state = key.partition(":")
        return cls(PhotoView(view), PhotoState(state))


_FIVE = tuple(
    Shot(view)
    for view in (
        PhotoView.FRONT,
        PhotoView.OBLIQUE_RIGHT,
        PhotoView.OBLIQUE_LEFT,
        PhotoView.PROFILE_RIGHT,
        PhotoView.PROFILE_LEFT,
    )
)
_FILLER = (*_FIVE, Shot(PhotoView.FRONT, PhotoState.SMILE))

_STANDARD: dict[ProductKind, tuple[Shot, ...]] = {
    ProductKind.HA_FILLER: _FILLER,
    ProductKind.OTHER_FILLER: _FILLER,
    ProductKind.HYALURONIDASE: _FILLER,
    ProductKind.TOXIN: (
        Shot(PhotoView.FRONT),
        Shot(PhotoView.FRONT, PhotoState.BROWS_RAISED),
        Shot(PhotoView.FRONT, PhotoState.FROWN),
        Shot(PhotoView.FRONT, PhotoState.EYES_SHUT),
        Shot(PhotoView.FRONT, PhotoState.SMILE),
        Shot(PhotoView.OBLIQUE_RIGHT, PhotoState.SMILE),
        Shot(PhotoView.OBLIQUE_LEFT, PhotoState.SMILE),
    ),
}

_OF_THE_FACE = [view for view in PhotoView if view not in (PhotoView.NECK, PhotoView.HANDS)]
SHOTS: tuple[Shot, ...] = (
    *(Shot(view, state) for view in _OF_THE_FACE for state in PhotoState),
    Shot(PhotoView.NECK),
    Shot(PhotoView.NECK, PhotoState.NECK_TENSED),
    Shot(PhotoView.HANDS),
)
"""All that can be chosen for a series; a photograph may be of any view and state."""

SOURCES: tuple[Source, ...] = (PHOTO_SERIES, PHOTO_VIEWS, PHOTO_MOVEMENTS)


def standard_series(kind: ProductKind) -> tuple[Shot, ...]:
    """The usual series before a treatment with this kind of product; none for an anaesthetic."""
    return _STANDARD.get(kind, ())


def merged(series: Iterable[Iterable[Shot]]) -> tuple[Shot, ...]:
    """Several series as one: each shot once, in the order of `SHOTS`."""
    wanted = {shot for shots in series for shot in shots}
    return tuple(shot for shot in SHOTS if shot in wanted)
