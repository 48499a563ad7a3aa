"""Photographs over the wire: sent until stored, shown to clinical staff, bad files turned away."""

import uuid
from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from clinic.access import uploads
from clinic.audit.models import AuditEvent
from clinic.pictures.storage import private_pictures
from records.sessions.models import SessionPicture
from records.sessions.services.pictures import drop_picture
from records.sessions.services.signing import sign_session
from tests.factories import make_patient, make_picture, make_session, make_user, refreshed
from tests.records.sessions.pictures import decoded, drawing, encoded

TAKEN = "2026-11-25T10:00:00.123Z"


@pytest.fixture
def session(injector, patient):
    return make_session(injector, patient)


def address(key) -> str:
    return reverse("charting-picture", args=[key])


def send(client, session, sent: bytes | None = None, *, key=None, name="face.jpg", **fields):
    """Post a picture as the tablet does."""
    image = SimpleUploadedFile(name, encoded() if sent is None else sent, "image/jpeg")
    data = {"session": str(session.key), "image": image, "taken_at": TAKEN, **fields}
    return client.post(address(key or uuid.uuid4()), data, headers={"accept": "application/json"})


def test_a_picture_is_stored_and_described(signed_in, injector, session):
    key = uuid.uuid4()
    answer = send(signed_in(injector), session, key=key)
    assert answer.status_code == 200
    assert answer.json() == {"key": str(key), "width": 800, "height": 600, "url": address(key)}
    stored = SessionPicture.objects.get(key=key)
    assert (stored.session, stored.added_by) == (session, injector)
    assert stored.taken_at.isoformat() == "2026-11-25T10:00:00.123000+00:00"


def test_sent_again_it_is_answered_alike(signed_in, injector, session):
    client, key, sent = signed_in(injector), uuid.uuid4(), encoded()
    first, second = (send(client, session, sent, key=key) for _ in range(2))
    assert (first.status_code, first.json()) == (second.status_code, second.json())
    assert SessionPicture.objects.count() == 1


def test_a_second_picture_under_one_id_is_a_conflict(signed_in, injector, session):
    client, key = signed_in(injector), uuid.uuid4()
    send(client, session, key=key)
    answer = send(client, session, encoded(drawing(300, 200)), key=key)
    assert (answer.status_code, answer.json()["code"]) == (409, "other_picture")


def test_a_session_still_to_come_means_later(signed_in, injector, session):
    session.key = uuid.uuid4()
    answer = send(signed_in(injector), session)
    assert (answer.status_code, answer.json()["code"]) == (409, "no_session")


@pytest.mark.parametrize(
    ("sent", "name", "message"),
    [
        (b"MZ\x90\x00 a program", "face.jpg", "not a picture"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'><script/></svg>", "face.svg", "not a picture"),
        (b"<html><script>alert(1)</script>", "face.png", "not a picture"),
        (encoded(kind="GIF"), "face.jpg", "not a picture"),
        (encoded()[:4000], "face.jpg", "damaged or incomplete"),
        (b"\x00\x00\x00\x18ftypheic" + bytes(64), "face.heic", "damaged or incomplete"),
        (b"", "face.jpg", "is empty"),
    ],
    ids=["program", "svg", "html", "gif", "truncated", "heic", "empty"],
)
def test_a_hostile_or_broken_file_gets_a_sentence(
    signed_in, injector, session, sent, name, message
):
    answer = send(signed_in(injector), session, sent, name=name)
    assert answer.status_code == 422
    assert message in answer.json()["message"]
    assert not SessionPicture.objects.exists()


def test_a_file_beyond_the_limit_is_not_kept_anywhere(signed_in, injector, session, monkeypatch):
    monkeypatch.setattr(uploads, "MOST_BYTES", 100_000)
    answer = send(signed_in(injector), session, encoded() + bytes(200_000))
    assert answer.status_code == 422
    assert "larger than 25 MB" in answer.json()["message"]


@pytest.mark.parametrize(
    "taken_at", ["0001-01-01T00:00:00+1400", "9999-12-31T23:59:59-1400", "1969-12-31T00:00:00Z"]
)
def test_a_time_no_clock_shows_is_replaced_by_now(signed_in, injector, session, taken_at):
    assert send(signed_in(injector), session, taken_at=taken_at).status_code == 200
    age = timezone.now() - SessionPicture.objects.get().taken_at
    assert timedelta() <= age < timedelta(minutes=1)


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("session", "x"), ("session", "\x00"), ("session", "9" * 5_000), ("author", "9" * 30),
        ("author", "-1"), ("taken_at", "noon"), ("taken_at", "9" * 100_000),
    ],
)  # fmt: skip
def test_what_no_tablet_sends_gets_a_sentence(signed_in, injector, session, name, value):
    data = {"session": str(session.key), "image": SimpleUploadedFile("a.jpg", encoded())}
    answer = signed_in(injector).post(address(uuid.uuid4()), data | {name: value})
    assert answer.status_code == 422
    assert answer.json()["message"]


@pytest.mark.parametrize("missing", ["session", "image"])
def test_what_is_missing_is_named(signed_in, injector, session, missing):
    data = {"session": str(session.key), "image": SimpleUploadedFile("a.jpg", encoded())}
    del data[missing]
    answer = signed_in(injector).post(address(uuid.uuid4()), data)
    assert answer.status_code == 422
    assert answer.json()["message"] in {"Choose a picture.", "Say which session it belongs to."}


def test_a_signed_session_takes_no_more(signed_in, injector, session):
    sign_session(session=session, remainders={}, actor=injector)
    answer = send(signed_in(injector), session)
    assert answer.status_code == 422
    assert "signed" in answer.json()["message"]


def test_only_who_injects_adds_a_picture(signed_in, session, owner, desk):
    for person in (owner, desk, make_user("ines", is_injector=True)):
        assert send(signed_in(person), session).status_code == 403
    assert not SessionPicture.objects.exists()


def test_one_that_was_handed_over_names_whose_it_is(signed_in, injector, session):
    other = make_user("ines", is_injector=True)
    assert send(signed_in(other), session, author=other.pk).status_code == 403
    assert send(signed_in(other), session, author=injector.pk).status_code == 200
    assert SessionPicture.objects.get().added_by == other


def test_without_a_token_nothing_is_stored(injector, session):
    client = Client(enforce_csrf_checks=True)
    client.force_login(injector)
    assert send(client, session).status_code == 403


def test_signed_out_is_told_to_the_script(client, session):
    assert send(client, session).status_code == 401


def test_the_picture_is_served_as_we_wrote_it(signed_in, injector, session):
    sent = encoded(comment=b"Ann Example")
    picture = make_picture(session, sent=sent)
    answer = signed_in(injector).get(address(picture.key))
    assert answer.status_code == 200
    assert decoded(answer.content).size == (800, 600)
    assert b"Ann Example" not in answer.content
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["Content-Disposition"] == 'inline; filename="photograph.jpg"'
    assert answer["Cache-Control"] == "no-store"
    assert answer["X-Content-Type-Options"] == "nosniff"


def test_looking_is_in_the_trail(signed_in, owner, session):
    picture = make_picture(session)
    signed_in(owner).get(address(picture.key))
    event = AuditEvent.objects.get(action="read", subject_type="sessionpicture")
    assert (event.actor, event.subject_id) == (owner, str(picture.pk))
    assert event.patient_id == session.patient_id


def test_the_front_desk_sees_no_picture(signed_in, desk, session):
    assert signed_in(desk).get(address(make_picture(session).key)).status_code == 403


def test_signed_out_nobody_sees_it(client, session):
    answer = client.get(address(make_picture(session).key))
    assert answer.status_code == 302
    assert answer.content == b""


def test_an_unknown_or_removed_picture_is_not_found(signed_in, injector, session):
    picture = make_picture(session)
    drop_picture(picture=picture, actor=injector)
    client = signed_in(injector)
    assert client.get(address(picture.key)).status_code == 404
    assert client.get(address(uuid.uuid4())).status_code == 404


def test_a_lost_file_is_no_fault_of_the_page(signed_in, injector, session):
    picture = refreshed(make_picture(session))
    private_pictures().delete(picture.file.name)
    assert signed_in(injector).get(address(picture.key)).status_code == 404


def test_other_methods_are_refused(signed_in, injector, session):
    assert signed_in(injector).delete(address(make_picture(session).key)).status_code == 405


def test_the_page_may_show_a_picture_of_its_own_memory(signed_in, injector):
    """Content-Security-Policy 3: img-src names the scheme blob:."""
    policy = signed_in(injector).get(reverse("today"))["Content-Security-Policy"]
    (images,) = (part for part in policy.split("; ") if part.startswith("img-src"))
    assert set(images.split()[1:]) == {"'self'", "data:", "blob:"}


def test_two_patients_do_not_mix(signed_in, injector, session):
    other = make_session(injector, make_patient(injector, "Bea Example"))
    key = uuid.uuid4()
    make_picture(session, key=key)
    assert send(signed_in(injector), other, key=key).status_code == 409
