"""A photograph is kept once, has its scale from two of its points, and goes only without points."""

import hashlib
import uuid
from datetime import UTC, datetime

import pytest
from django.conf import settings
from django.db import IntegrityError

from clinic.audit.models import AuditEvent
from clinic.pictures.errors import PictureRefused
from records.sessions.errors import (
    PictureConflict,
    SessionError,
    SessionSigned,
)  # fmt: skip
from records.sessions.models import InjectionEntry, SessionPicture
from records.sessions.services import pictures
from records.sessions.services.pictures import (
    calibrate,
    drop_picture,
    keep_picture,
    picture_bytes,
    picture_image,
)  # fmt: skip
from records.sessions.services.points import restore_point
from records.sessions.services.signing import sign_session
from tests.factories import (
    make_patient,
    make_product,
    make_session,
    make_session_with_unit,
    make_units,
    refreshed,
)  # fmt: skip
from tests.records.sessions.pictures import decoded, drawing, encoded

TAKEN = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)
PUPILS = {"x1": 336, "y1": 240, "x2": 464, "y2": 240, "distance_dmm": 617}


@pytest.fixture
def unit(injector):
    return make_units(injector, make_product())[0]


@pytest.fixture
def session(injector, patient, unit):
    return make_session_with_unit(injector, patient, unit)


def keep(session, sent: bytes | None = None, **fields) -> SessionPicture:
    fields = {"key": uuid.uuid4(), "taken_at": TAKEN, "actor": session.injector, **fields}
    return keep_picture(session=session, sent=sent or encoded(), **fields)


def put_point(picture: SessionPicture, unit, **fields) -> InjectionEntry:
    """A point on the photograph, as the tables have it."""
    fields = {
        "number": 1, "view": "picture", "x_dmm": 500, "y_dmm": 600, "chart_version": "1",
        "region": "zygomatic", "side": "left", "relative_x_permille": 500,
        "relative_y_permille": 500, "plane": "deep_fat", "technique": "bolus",
        "instrument": "needle", "aspiration": "negative", "amount": 100, "tapped_at": TAKEN,
        "logged_by": picture.added_by, **fields,
    }  # fmt: skip
    return InjectionEntry.objects.create(
        session=picture.session, picture=picture, unit=unit, **fields
    )


def files() -> list[str]:
    folder = settings.VAR_DIR / "pictures"
    return sorted(path.name for path in folder.iterdir()) if folder.exists() else []


def acts() -> list[str]:
    return list(
        AuditEvent.objects.filter(subject_type="sessionpicture").values_list("action", flat=True)
    )


def test_a_picture_is_kept_as_a_file_under_a_random_name(session):
    before = files()
    picture = refreshed(keep(session))
    (name,) = set(files()) - set(before)
    assert picture.file.name == name
    assert len(name) == len(".jpg") + 32
    assert (settings.VAR_DIR / "pictures" / name).stat().st_mode & 0o777 == 0o600
    assert (picture.width, picture.height) == (800, 600)
    assert decoded(picture_bytes(picture)).size == (800, 600)
    assert picture.digest == hashlib.sha256(picture_bytes(picture)).hexdigest()
    assert decoded(picture_image(picture)).format == "JPEG"


def test_a_picture_has_no_public_address(session):
    with pytest.raises(ValueError, match="no public address"):
        _ = keep(session).file.url


def test_keeping_is_in_the_trail(session):
    picture = keep(session)
    event = AuditEvent.objects.get(action="picture.kept")
    assert (event.subject_id, event.patient_id) == (str(picture.pk), session.patient_id)


def test_sent_twice_it_is_kept_once(session):
    key, sent, before = uuid.uuid4(), encoded(), len(files())
    first, second = keep(session, sent, key=key), keep(session, sent, key=key)
    assert first == second
    assert SessionPicture.objects.count() == 1
    assert len(files()) == before + 1
    assert acts() == ["picture.kept"]


def test_another_picture_under_the_same_id_is_refused(session):
    key = uuid.uuid4()
    keep(session, key=key)
    with pytest.raises(PictureConflict, match="under this id"):
        keep(session, encoded(drawing(400, 300)), key=key)


def test_the_same_id_in_another_session_is_refused(session, injector):
    key, sent = uuid.uuid4(), encoded()
    keep(session, sent, key=key)
    other = make_session(injector, make_patient(injector, "Bea Example"))
    with pytest.raises(PictureConflict, match="another session"):
        keep(other, sent, key=key)


def test_a_refused_file_leaves_nothing(session):
    before = files()
    with pytest.raises(PictureRefused):
        keep(session, b"no picture")
    assert (files(), SessionPicture.objects.count()) == (before, 0)


def test_a_row_that_fails_takes_its_file_along(session, monkeypatch):
    def broken(*args):
        raise RuntimeError("the database is gone")

    monkeypatch.setattr(pictures, "lock_session", broken)
    before = files()
    with pytest.raises(RuntimeError):
        keep(session)
    assert files() == before


def test_a_row_that_another_request_stored_first_is_given(session, monkeypatch):
    """Both found nothing at first; the second one to get the lock finds the first one's row."""
    key, sent = uuid.uuid4(), encoded()
    first, before = keep(session, sent, key=key), files()
    look, calls = pictures._stored, []

    def once_blind(*args):
        calls.append(args)
        return None if len(calls) == 1 else look(*args)

    monkeypatch.setattr(pictures, "_stored", once_blind)
    assert keep(session, sent, key=key) == first
    assert files() == before


def test_a_signed_session_takes_no_picture_but_knows_its_own(session, injector, unit):
    key, sent = uuid.uuid4(), encoded()
    picture = keep(session, sent, key=key)
    sign_session(session=session, remainders={unit.pk: "wasted"}, actor=injector)
    session = refreshed(session)
    assert keep(session, sent, key=key) == picture
    with pytest.raises(SessionSigned):
        keep(session)
    with pytest.raises(SessionSigned):
        calibrate(picture=picture, actor=injector, **PUPILS)
    with pytest.raises(SessionSigned):
        drop_picture(picture=picture, actor=injector)


def test_the_database_itself_keeps_a_signed_sessions_pictures(session, injector, unit):
    picture = keep(session)
    sign_session(session=session, remainders={unit.pk: "wasted"}, actor=injector)
    with pytest.raises(IntegrityError, match="the session is signed"):
        SessionPicture.objects.filter(pk=picture.pk).update(x1=1)


def test_two_points_and_a_distance_give_the_scale(session, injector):
    picture = calibrate(picture=keep(session), on_pupils=True, actor=injector, **PUPILS)
    picture = refreshed(picture)
    assert {name: getattr(picture, name) for name in PUPILS} == PUPILS
    assert picture.on_pupils
    assert sorted(acts()) == ["picture.calibrated", "picture.kept"]


@pytest.mark.parametrize(
    ("numbers", "message"),
    [
        ({"x2": 336}, "same place"),
        ({"distance_dmm": 49}, "from 5 to 400 mm"),
        ({"x2": 800}, "outside the picture"),
        ({"x2": 338, "distance_dmm": 4000}, "farther apart"),
    ],
)
def test_what_gives_no_scale_is_refused(session, injector, numbers, message):
    picture = keep(session)
    with pytest.raises(SessionError, match=message):
        calibrate(picture=picture, actor=injector, **PUPILS | numbers)
    assert refreshed(picture).scale is None


def test_the_scale_stays_once_points_are_on_the_picture(session, injector, unit):
    """Removed ones too: they can come back, and would lie elsewhere."""
    picture = calibrate(picture=keep(session), actor=injector, **PUPILS)
    put_point(picture, unit, removed_at=TAKEN)
    with pytest.raises(SessionError, match="the scale stays"):
        calibrate(picture=picture, actor=injector, **PUPILS | {"distance_dmm": 600})
    assert refreshed(picture).distance_dmm == 617


def test_the_same_scale_again_is_no_change(session, injector, unit):
    picture = calibrate(picture=keep(session), actor=injector, **PUPILS)
    put_point(picture, unit)
    calibrate(picture=picture, actor=injector, **PUPILS)
    assert acts().count("picture.calibrated") == 1


def test_a_picture_without_points_can_go_with_its_file(
    session, injector, django_capture_on_commit_callbacks
):
    picture = keep(session)
    with django_capture_on_commit_callbacks(execute=True):
        drop_picture(picture=picture, actor=injector)
        assert picture.file.name in files(), "gone before the removal is stored for good"
    assert picture.file.name not in files()
    assert refreshed(picture).removed_at is not None
    drop_picture(picture=picture, actor=injector)
    assert acts().count("picture.removed") == 1


def test_a_picture_with_points_stays(session, injector, unit):
    picture = keep(session)
    put_point(picture, unit)
    with pytest.raises(SessionError, match="Remove them first"):
        drop_picture(picture=picture, actor=injector)
    assert picture.file.name in files()


def test_a_point_does_not_come_back_onto_a_removed_picture(session, injector, unit):
    picture = calibrate(picture=keep(session), actor=injector, **PUPILS)
    point = put_point(picture, unit, removed_at=TAKEN)
    drop_picture(picture=picture, actor=injector)
    with pytest.raises(SessionError, match="photograph was removed"):
        restore_point(point=point, actor=injector)
    assert refreshed(point).removed_at is not None


def test_a_removed_picture_gets_no_scale(session, injector):
    picture = keep(session)
    drop_picture(picture=picture, actor=injector)
    with pytest.raises(SessionError, match="taken out"):
        calibrate(picture=picture, actor=injector, **PUPILS)
