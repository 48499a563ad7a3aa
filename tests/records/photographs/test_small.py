"""The smaller pictures are made in the background, once."""

import pytest

from clinic.background import ticks
from clinic.pictures.storage import private_pictures
from records.photographs.files import loose_files
from records.photographs.models import Photograph
from records.photographs.services.keeping import take_out_photograph
from records.photographs.services.small import make_small, picture_bytes, small_bytes
from records.photographs.ticking import tick
from tests.factories import make_photograph, refreshed
from tests.records.sessions.pictures import decoded, drawing, encoded

pytestmark = pytest.mark.django_db


@pytest.fixture
def photograph(injector, patient):
    return make_photograph(injector, patient, sent=encoded(drawing(1500, 2000)))


def test_a_tick_makes_them(photograph):
    tick()
    made = refreshed(photograph)
    assert decoded(picture_bytes(made, "thumbnail")).size == (360, 480)
    assert decoded(picture_bytes(made, "preview")).size == (1200, 1600)
    assert not Photograph.objects.without_thumbnail().exists()


def test_two_that_work_at_the_same_time_leave_one_pair(photograph):
    make_small(photograph)
    names = {photograph.file.name} | set(
        Photograph.objects.values_list("preview", "thumbnail").get()
    )
    make_small(photograph)  # found it before the other one was done
    assert set(private_pictures().listdir("")[1]) >= names
    assert Photograph.objects.values_list("preview", "thumbnail").get()[0] in names
    assert not [name for name in loose_files() if name in names]


def test_until_then_they_are_made_on_the_spot(photograph):
    data, is_stored = small_bytes(photograph, "thumbnail")
    assert decoded(data).size == (360, 480)
    assert not is_stored
    tick()
    assert small_bytes(refreshed(photograph), "thumbnail")[1]


def test_one_without_its_file_does_not_hold_up_the_others(photograph, injector, patient):
    private_pictures().delete(str(photograph.file.name))
    later = make_photograph(injector, patient)
    tick()
    assert refreshed(later).thumbnail
    assert not refreshed(photograph).thumbnail


def test_one_taken_out_is_left_alone(photograph, injector):
    take_out_photograph(photograph=photograph, reason="Blurred", actor=injector)
    tick()
    assert not refreshed(photograph).thumbnail


def test_a_worker_that_is_asked_to_stop_stops(photograph, monkeypatch):
    monkeypatch.setattr(ticks.stopping, "is_set", lambda: True)
    tick()
    assert not refreshed(photograph).thumbnail
