"""Two photographs of one patient, sixteen weeks apart."""

from datetime import UTC, datetime

import pytest

from planning.landmarks import Landmark
from records.comparisons.services.marks import place_marks
from tests.factories import make_photograph

# On drawings of 800 x 600, as tests.factories keeps them: inner corners of the eyes, and the nose.
PLACES = {
    Landmark.EYE_IN_RIGHT: (350, 240),
    Landmark.EYE_IN_LEFT: (450, 240),
    Landmark.NOSE_BASE: (400, 340),
}
# The same face, nearer to the camera and turned by a quarter.
TURNED = {
    Landmark.EYE_IN_RIGHT: (500, 100),
    Landmark.EYE_IN_LEFT: (500, 300),
    Landmark.NOSE_BASE: (300, 200),
}


@pytest.fixture
def first(injector, patient):
    return make_photograph(injector, patient)


@pytest.fixture
def second(injector, patient):
    taken_at = datetime(2027, 3, 17, 10, 0, tzinfo=UTC)
    return make_photograph(injector, patient, taken_at=taken_at)


@pytest.fixture
def marked(injector, first, second):
    """Both pictures, the second nearer and turned by a quarter."""
    place_marks(photograph=first, places=PLACES, actor=injector)
    place_marks(photograph=second, places=TURNED, actor=injector)
    return first, second
