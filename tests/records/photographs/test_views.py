"""Pages and pictures of a patient's photographs: who sees them, what is noted, what is refused."""

import uuid
from datetime import UTC, date, datetime, timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from clinic.access import uploads
from clinic.audit.models import AuditEvent
from clinic.pictures.storage import private_pictures
from planning.vocabulary import ProductKind
from records.photographs.enums import Use
from records.photographs.models import ChosenSeries, Photograph
from records.photographs.queries import series_of
from records.photographs.services.keeping import take_out_photograph
from records.photographs.ticking import tick
from tests.factories import make_patient, make_photograph, make_session, refreshed
from tests.records.sessions.pictures import decoded, encoded

pytestmark = pytest.mark.django_db


@pytest.fixture
def photograph(injector, patient):
    return make_photograph(injector, patient)


@pytest.fixture
def tablet(signed_in, injector):
    """The test client of the injector."""
    return signed_in(injector)


def send(client, patient, key=None, *, name="front.jpg", data=None, **fields):
    image = SimpleUploadedFile(name, encoded() if data is None else data)
    sent = {"image": image, "shot": "front:frown", "source": "camera", "record": "on", **fields}
    url = reverse("photograph-keep", args=[patient.pk, key or uuid.uuid4()])
    return client.post(url, {name: value for name, value in sent.items() if value is not None})


def reads(action: str) -> int:
    return AuditEvent.objects.filter(action=action).count()


def test_a_photograph_is_kept_with_what_was_agreed(tablet, patient):
    key, until = uuid.uuid4(), timezone.localdate() + timedelta(days=365)
    answer = send(tablet, patient, key, teaching="on", teaching_until=until.isoformat())
    kept = Photograph.objects.get(key=key)
    assert answer.json()["url"] == f"/photographs/{key}/"
    assert (kept.shot.key, kept.patient, kept.session) == ("front:frown", patient, None)
    assert dict(kept.uses.values_list("use", "until_on")) == {"record": None, "teaching": until}


def test_it_lies_in_the_session_it_was_taken_in(tablet, patient, injector):
    session = make_session(injector, patient)
    page = tablet.get(reverse("photograph-take", args=[patient.pk]))
    assert f'data-session="{session.key}"' in page.text
    send(tablet, patient, session=session.key, taken_at="2026-11-25T10:00:00.000Z")
    kept = Photograph.objects.get()
    assert kept.session == session
    assert kept.taken_at == datetime(2026, 11, 25, 10, 0, tzinfo=UTC)


def test_a_clock_that_shows_no_time_costs_no_picture(tablet, patient):
    assert send(tablet, patient, taken_at="0001-01-01T00:00:00.000Z").status_code == 200


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({"record": None}, "Ask the patient, and tick that they agree"),
        ({"shot": "front:laugh"}, "Choose what the photograph shows."),
        ({"shot": None}, "Choose what the photograph shows."),
        ({"image": None}, "Choose a picture."),
        ({"data": b""}, "This file is empty"),
        ({"data": b"<svg xmlns='x'/>"}, "not a picture that can be read"),
        ({"data": encoded()[:900]}, "damaged or incomplete"),
        ({"teaching_until": "2030-01-01"}, "Tick teaching as well"),
        ({"teaching": "on", "teaching_until": "2020-01-01"}, "This day is over"),
        ({"teaching": "on", "teaching_until": "soon"}, "Type the day as 31/12/2026"),
        ({"session": uuid.uuid4()}, "session of this photograph is not stored"),
        ({"session": "none"}, "valid UUID"),
    ],
)  # fmt: skip
def test_what_cannot_be_kept_is_refused_in_words(tablet, patient, fields, told):
    answer = send(tablet, patient, **fields)
    assert answer.status_code == 422
    assert told in answer.json()["message"]
    assert not Photograph.objects.exists()


def test_a_huge_file_is_named_as_such(tablet, patient, monkeypatch):
    monkeypatch.setattr(uploads, "MOST_BYTES", 1000)
    answer = send(tablet, patient)
    assert answer.status_code == 422
    assert "larger than 25 MB" in answer.json()["message"]


def test_a_name_of_any_length_is_no_reason_to_refuse(tablet, patient):
    assert send(tablet, patient, name="x" * 300 + ".jpg").status_code == 200


def test_another_picture_under_its_id_is_a_conflict(tablet, patient, photograph):
    answer = send(tablet, patient, photograph.key, data=encoded(kind="PNG"))
    assert answer.status_code == 409
    assert "Another photograph" in answer.json()["message"]


def test_the_picture_is_served_to_nobody_without_a_note(tablet, photograph):
    full = tablet.get(reverse("photograph-file", args=[photograph.key]))
    assert decoded(full.content).size == (800, 600)
    assert full["Cache-Control"] == "no-store"
    assert full["Content-Disposition"] == 'inline; filename="photograph.jpg"'
    assert full["X-Content-Type-Options"] == "nosniff"
    assert reads("read.full_photograph") == 1
    tablet.get(reverse("photograph-preview", args=[photograph.key]))
    assert reads("read") == 1


def test_a_thumbnail_stays_in_the_persons_own_browser_once_it_is_made(tablet, photograph):
    url = reverse("photograph-thumbnail", args=[photograph.key])
    assert tablet.get(url)["Cache-Control"] == "private, no-store"
    tick()
    answer = tablet.get(url)
    assert answer["Cache-Control"] == "private, max-age=3600"
    assert "Cookie" in answer["Vary"]


@pytest.mark.parametrize("route", ["file", "preview", "thumbnail"])
def test_a_file_that_is_gone_is_not_found(tablet, photograph, route):
    private_pictures().delete(str(photograph.file.name))
    assert tablet.get(reverse(f"photograph-{route}", args=[photograph.key])).status_code == 404


@pytest.mark.parametrize("route", ["file", "preview", "thumbnail", "detail"])
def test_one_taken_out_is_there_for_the_owner_alone(signed_in, injector, owner, photograph, route):
    take_out_photograph(photograph=photograph, reason="Blurred", actor=injector)
    url = reverse(f"photograph-{route}", args=[photograph.key])
    assert signed_in(injector).get(url).status_code == 404
    assert signed_in(owner).get(url).status_code == 200


def test_the_front_desk_sees_none(signed_in, desk, photograph):
    client = signed_in(desk)
    for route in ("file", "preview", "thumbnail", "detail"):
        assert client.get(reverse(f"photograph-{route}", args=[photograph.key])).status_code == 403
    page = client.get(reverse("patient-detail", args=[photograph.patient_id]))
    assert "photographs/for-patient" not in page.text


def test_the_record_shows_the_latest_six(tablet, patient, injector):
    for number in range(8):
        taken_at = datetime(2026, 11, 1 + number, tzinfo=UTC)
        make_photograph(injector, patient, taken_at=taken_at)
    panel = tablet.get(reverse("photograph-for-patient", args=[patient.pk]))
    days = [photograph.taken_at.day for photograph in panel.context["photographs"]]
    assert days == [8, 7, 6, 5, 4, 3]
    assert "All 8" in panel.text
    assert reads("read.photographs") == 1


def many(photograph: Photograph, count: int) -> None:
    """As if taken over years, three a day and of two views."""
    like = {
        "patient_id": photograph.patient_id, "added_by_id": photograph.added_by_id,
        "state": "rest", "source": "upload", "width": 3, "height": 4,
        "digest": "0" * 64, "sent_digest": "0" * 64,
    }  # fmt: skip
    Photograph.objects.bulk_create(
        Photograph(
            view=("front", "hands")[number % 2],
            taken_at=photograph.taken_at - timedelta(days=number // 3),
            file=f"{number}.jpg",
            thumbnail=f"{number}.jpg",
            **like,
        )
        for number in range(count)
    )


def test_three_hundred_are_listed_in_as_many_statements_as_one(tablet, photograph):
    url = reverse("photograph-list", args=[photograph.patient_id])
    tablet.get(url)  # what is asked once a process
    with CaptureQueriesContext(connection) as of_one:
        tablet.get(url)
    many(photograph, 300)
    with CaptureQueriesContext(connection) as of_many:
        tablet.get(url)
    assert len(of_many) == len(of_one)


def test_the_list_is_in_pages_and_of_one_view_if_asked(tablet, photograph):
    many(photograph, 300)
    url = reverse("photograph-list", args=[photograph.patient_id])
    page = tablet.get(url)
    assert page.context["page_obj"].paginator.count == 301
    assert page.text.count('loading="lazy"') == 48
    hands = tablet.get(url, {"view": "hands", "page": 4})
    assert hands.context["page_obj"].paginator.count == 150
    assert '<a href="?view=hands" aria-current="page">Backs of the hands</a>' in hands.text
    assert hands.text.count('loading="lazy"') == 6
    assert tablet.get(url, {"view": "back"}).context["page_obj"].paginator.count == 301


def test_the_page_of_the_camera_offers_the_earlier_picture_of_each_view(
    tablet, patient, photograph, injector
):
    latest = make_photograph(injector, patient, taken_at=photograph.taken_at + timedelta(days=1))
    page = tablet.get(reverse("photograph-take", args=[patient.pk]), {"kind": "toxin"})
    assert page.context["series"].kind == ProductKind.TOXIN
    assert page.context["earlier"] == {
        "front:rest": {"url": f"/photographs/{latest.key}/preview/", "day": "26 Nov 2026"}
    }
    assert page["Permissions-Policy"].startswith("camera=(self)")


def test_the_camera_stays_off_elsewhere(tablet, patient):
    page = tablet.get(reverse("photograph-upload", args=[patient.pk]))
    assert page["Permissions-Policy"].startswith("camera=()")


def test_what_it_shows_is_corrected(tablet, photograph):
    url = reverse("photograph-correct", args=[photograph.key])
    tablet.post(url, {"shot": "neck:rest", "taken_on": "2026-11-20"})
    corrected = refreshed(photograph)
    assert corrected.shot.key == "neck:rest"
    assert timezone.localtime(corrected.taken_at).date() == date(2026, 11, 20)


@pytest.mark.parametrize(
    ("route", "fields", "told"),
    [
        ("correct", {"shot": "", "taken_on": "2026-11-20"}, "Choose what the photograph shows."),
        ("correct", {"shot": "neck:rest", "taken_on": ""}, "Taken on is required."),
        ("correct", {"shot": "neck:rest", "taken_on": "2999-01-01"}, "still to come"),
        ("take-out", {"reason": " "}, "Say why"),
        ("use-give", {}, "Choose what it may be used for."),
        ("use-give", {"use": "teaching", "until_on": "2020-01-01"}, "is over"),
    ],
)
def test_a_refused_form_comes_back_on_the_page_of_the_photograph(
    tablet, photograph, route, fields, told
):
    answer = tablet.post(reverse(f"photograph-{route}", args=[photograph.key]), fields)
    assert answer.status_code == 422
    assert told in answer.text


def test_a_use_is_given_and_withdrawn(tablet, photograph):
    tablet.post(reverse("photograph-use-give", args=[photograph.key]), {"use": "publication"})
    assert photograph.uses.standing().filter(use=Use.PUBLICATION).exists()
    url = reverse("photograph-use-withdraw", args=[photograph.key, "publication"])
    assert "Withdrawn." in tablet.post(url, follow=True).text
    assert "nothing stands" in tablet.post(url, follow=True).text
    assert not photograph.uses.standing().filter(use=Use.PUBLICATION).exists()
    unknown = reverse("photograph-use-withdraw", args=[photograph.key, "advertising"])
    assert tablet.post(unknown).status_code == 404


def test_one_is_taken_out(tablet, photograph):
    answer = tablet.post(
        reverse("photograph-take-out", args=[photograph.key]), {"reason": "Blurred"}
    )
    assert answer.url == reverse("photograph-list", args=[photograph.patient_id])
    assert refreshed(photograph).removed_at


def test_the_owner_sees_what_may_be_used_and_looking_is_noted(
    signed_in, owner, injector, photograph
):
    other = make_patient(injector, "Bea Example")
    make_photograph(injector, other, uses={Use.RECORD: None})
    page = signed_in(owner).get(reverse("photograph-usable"))
    assert list(page.context["page_obj"]) == [photograph]
    assert "until withdrawn" in page.text
    event = AuditEvent.objects.get(action="read.usable_photograph")
    assert event.patient_id == photograph.patient_id
    published = signed_in(owner).get(reverse("photograph-usable"), {"use": "publication"})
    assert "None today" in published.text


def test_the_owner_changes_a_series_and_goes_back(signed_in, owner):
    client = signed_in(owner)
    url = reverse("photograph-series-edit", args=["toxin"])
    client.post(url, {"front": ["front:frown"], "hands": ["hands:rest"]})
    assert ChosenSeries.objects.get().shots == ["front:frown", "hands:rest"]
    assert "Backs of the hands, rest" in client.get(reverse("photograph-series")).text
    assert client.post(url, {"front": ["front:laugh"]}).status_code == 422
    client.post(reverse("photograph-series-usual", args=["toxin"]))
    assert series_of(ProductKind.TOXIN).chosen is None


@pytest.mark.parametrize("kind", ["anaesthetic", "laser"])
def test_there_is_no_series_for_other_kinds(signed_in, owner, kind):
    assert signed_in(owner).get(f"/photographs/series/{kind}/").status_code == 404
