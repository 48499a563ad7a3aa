"""Who is photographed in the demo: three invented people, two of them again four weeks later."""

from dataclasses import dataclass

from planning.standard_views import Shot
from records.demo.faces import Camera, Lines, Look

_RESTING = ("front:rest", "oblique_right:rest", "oblique_left:rest")
_PROFILES = ("profile_right:rest", "profile_left:rest")


@dataclass(frozen=True)
class Portrait:
    """
    One person before the camera.

    Attributes:
        treatment: of `fixtures/demo/treatments.json`; whoever has it next is photographed so.
        later: how the lines are four weeks after it; None: no second series was taken yet.
        days_ago: not before this many days before today.
        is_taught: whether the patient agrees to teaching as well, for a year.
    """

    treatment: str
    look: Look
    shots: tuple[Shot, ...]
    before: Lines
    later: Lines | None
    days_ago: int
    is_taught: bool = False


def _shots(*keys: str) -> tuple[Shot, ...]:
    return tuple(Shot.of(key) for key in keys)


PORTRAITS: tuple[Portrait, ...] = (
    Portrait(
        "cheeks",
        Look(skin=(232, 196, 170), hair=(92, 62, 44), iris=(86, 112, 86)),
        _shots(*_RESTING, *_PROFILES, "front:smile"),
        Lines(fold=0.8, frown=0.3, forehead=0.5),
        Lines(fold=0.3, frown=0.3, forehead=0.5),
        days_ago=200,
        is_taught=True,
    ),
    Portrait(
        "frown",
        Look(skin=(172, 122, 92), hair=(40, 32, 30), iris=(74, 50, 38)),
        _shots("front:rest", "front:brows_raised", "front:frown"),
        Lines(fold=0.4, frown=0.9, forehead=0.9),
        Lines(fold=0.4, frown=0.15, forehead=0.3),
        days_ago=160,
    ),
    Portrait(
        "lips",
        Look(skin=(244, 214, 196), hair=(176, 138, 90), iris=(92, 122, 150)),
        _shots(*_RESTING),
        Lines(fold=0.35, frown=0.2, forehead=0.3),
        None,
        days_ago=25,
    ),
)

BEFORE = Camera()
# As it goes: a little nearer, lighter and not quite upright.
LATER = Camera(turn=3, near=1.06, off=(7, -5), light=1.04)
