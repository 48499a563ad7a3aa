"""A photograph is kept once, in full, without the camera's words; corrected; taken out."""

import hashlib
import uuid
from datetime import UTC, datetime, timedelta

import pytest
from django.utils import timezone
from PIL import Image

from clinic.audit.models import AuditEvent
from clinic.pictures.errors import PictureRefused
from clinic.pictures.storage import private_pictures
from planning.standard_views import Shot
from records.photographs.enums import PictureSource, Use
from records.photographs.errors import PhotographConflict, PhotographError, PhotographGone, UseOver
from records.photographs.models import Photograph
from records.photographs.services import keeping
from records.photographs.services.keeping import correct_photograph, take_out_photograph
from records.photographs.services.small import picture_bytes
from tests.factories import make_patient, make_photograph, make_session, refreshed
from tests.records.sessions.pictures import decoded, drawing, encoded

pytestmark = pytest.mark.django_db


def files() -> set[str]:
    try:
        return set(private_pictures().listdir("")[1])
    except FileNotFoundError:
        return set()


def dated(text: str) -> bytes:
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x9003] = text  # DateTimeOriginal
    return encoded(exif=exif)


def test_every_pixel_is_kept_and_no_word(injector, patient):
    sent = encoded(drawing(3000, 2000), comment=b"Ann Example")
    photograph = refreshed(make_photograph(injector, patient, sent=sent))
    kept = picture_bytes(photograph, "file")
    assert (photograph.width, photograph.height) == decoded(kept).size == (3000, 2000)
    assert b"Ann" not in kept
    assert photograph.digest == hashlib.sha256(kept).hexdigest()


def test_keeping_is_in_the_trail_with_what_was_agreed(injector, patient):
    photograph = make_photograph(injector, patient)
    events = AuditEvent.objects.filter(patient_id=patient.pk, action__startswith="photograph")
    assert [event.action for event in events.order_by("id")] == [
        "photograph.kept", "photograph_use.given", "photograph_use.given",
    ]  # fmt: skip
    assert photograph.digest in events.earliest("id").data


def test_the_same_sent_again_is_stored_once(injector, patient):
    key = uuid.uuid4()
    first = make_photograph(injector, patient, key=key)
    before = files()
    assert make_photograph(injector, patient, key=key) == first
    assert Photograph.objects.count() == 1
    assert first.uses.count() == 2
    assert files() == before


def test_another_picture_under_its_id_is_refused(injector, patient):
    key = uuid.uuid4()
    make_photograph(injector, patient, key=key)
    with pytest.raises(PhotographConflict, match="Another photograph"):
        make_photograph(injector, patient, key=key, sent=encoded(drawing(50, 50)))
    with pytest.raises(PhotographConflict, match="another patient"):
        make_photograph(injector, make_patient(injector, "Bea Example"), key=key)


def test_one_that_comes_in_the_same_moment_leaves_no_second_file(injector, patient, monkeypatch):
    """Both looked before either was stored."""
    key = uuid.uuid4()
    first = make_photograph(injector, patient, key=key)
    before = files()
    stored, looks = keeping._stored, []

    def looked_too_early(*args):
        looks.append(args)
        return None if len(looks) == 1 else stored(*args)

    monkeypatch.setattr(keeping, "_stored", looked_too_early)
    assert make_photograph(injector, patient, key=key) == first
    assert files() == before


def test_a_refused_one_leaves_nothing(injector, patient):
    before = files()
    with pytest.raises(PictureRefused):
        make_photograph(injector, patient, sent=b"no picture")
    yesterday = timezone.localdate() - timedelta(days=1)
    with pytest.raises(UseOver, match="is over"):
        make_photograph(injector, patient, uses={Use.RECORD: None, Use.TEACHING: yesterday})
    assert Photograph.objects.count() == 0
    assert files() == before


def test_a_session_of_another_patient_is_refused(injector, patient):
    session = make_session(injector, make_patient(injector, "Bea Example"))
    with pytest.raises(PhotographError, match="another patient’s"):
        make_photograph(injector, patient, session=session)


@pytest.mark.parametrize(
    ("written", "taken_at"),
    [
        # Winter and summer time of London.
        ("2025:12:24 10:00:00", datetime(2025, 12, 24, 10, 0, tzinfo=UTC)),
        ("2025:07:24 10:00:00", datetime(2025, 7, 24, 9, 0, tzinfo=UTC)),
    ],
)
def test_the_cameras_clock_says_when_it_was_taken(injector, patient, written, taken_at):
    photograph = make_photograph(injector, patient, taken_at=None, sent=dated(written))
    assert photograph.taken_at == taken_at


@pytest.mark.parametrize(
    "written", ["1970:01:01 00:00:00", "2999:01:01 00:00:00", "0000:00:00 00:00:00", "yesterday"]
)
def test_a_clock_that_cannot_be_right_says_nothing(injector, patient, written):
    photograph = make_photograph(injector, patient, taken_at=None, sent=dated(written))
    assert timezone.now() - photograph.taken_at < timedelta(minutes=1)


def test_what_it_shows_is_corrected_and_the_picture_stays(injector, patient):
    photograph = make_photograph(injector, patient)
    moment = datetime(2026, 11, 24, 9, 0, tzinfo=UTC)
    correct_photograph(
        photograph=photograph, shot=Shot.of("profile_left:rest"), taken_at=moment, actor=injector
    )
    corrected = refreshed(photograph)
    assert (corrected.shot.key, corrected.taken_at) == ("profile_left:rest", moment)
    event = AuditEvent.objects.get(action="photograph.corrected")
    assert '"front"' in event.data
    assert '"profile_left"' in event.data


def test_one_taken_out_keeps_its_file_and_is_used_no_more(injector, patient):
    photograph = make_photograph(injector, patient)
    take_out_photograph(photograph=photograph, reason=" Blurred ", actor=injector)
    assert refreshed(photograph).removed_reason == "Blurred"
    assert picture_bytes(photograph, "file")
    assert not Photograph.objects.usable_for(Use.TEACHING, on=timezone.localdate()).exists()
    with pytest.raises(PhotographGone):
        take_out_photograph(photograph=photograph, reason="Again", actor=injector)
    with pytest.raises(PhotographGone):
        correct_photograph(
            photograph=photograph, shot=photograph.shot, taken_at=timezone.now(), actor=injector
        )


def test_it_is_not_taken_out_without_a_reason(injector, patient):
    with pytest.raises(PhotographError, match="Say why"):
        take_out_photograph(
            photograph=make_photograph(injector, patient), reason=" ", actor=injector
        )


def test_a_picture_of_the_camera_says_so(injector, patient):
    assert make_photograph(injector, patient, source=PictureSource.CAMERA).source == "camera"
