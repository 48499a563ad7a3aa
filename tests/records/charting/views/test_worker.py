"""What the tablet is told to keep, and how the app is called."""

import json
from io import BytesIO

import pytest
from django.contrib.staticfiles import finders
from PIL import Image

from clinic.policy.models import ClinicPolicy
from clinic.policy.services import save_policy
from records.charting.queries import kept

WORKER, MANIFEST = "/charting/worker.js", "/charting/manifest.webmanifest"


@pytest.fixture
def client(signed_in, injector):
    return signed_in(injector)


def told(client) -> dict:
    first_line = client.get(WORKER).content.decode().splitlines()[0]
    return json.loads(first_line.removeprefix("const KEPT = ").removesuffix(";"))


def test_the_worker_is_a_script_that_is_always_asked_for_again(client):
    answer = client.get(WORKER)
    assert answer["Content-Type"].startswith("text/javascript")
    assert answer["Cache-Control"] == "no-cache"
    assert 'self.addEventListener("fetch"' in answer.content.decode()


def test_signed_out_the_worker_is_a_redirect_which_browsers_refuse(client):
    # W3C Service Workers, "Update": a script that was redirected is a failed fetch.
    client.logout()
    assert client.get(WORKER).status_code == 302


def test_all_that_is_kept_can_be_had_and_nothing_of_a_person(client):
    kept_now = told(client)
    assert kept_now["shell"] == "/charting/"
    files = kept_now["files"]
    assert len(files) == len(set(files))
    for path in ("/charting/", "/static/js/charting/main.js", "/static/js/token.js"):
        assert path in files
    never = ("/charting/day", "/charting/sync", "/charting/pictures")
    assert [path for path in files if path.startswith(never)] == []
    for path in files:
        if path.startswith("/static/"):
            assert finders.find(path.removeprefix("/static/")), path
        else:
            answer = client.get(path)
            assert answer.status_code == 200, path
            assert "no-store" not in answer["Cache-Control"], path


def test_every_module_and_style_that_the_screen_names_is_kept(client):
    files = set(told(client)["files"])
    page = client.get("/charting/").content.decode()
    named = {part.split('"')[0] for part in page.split('="/static/')[1:]}
    assert {f"/static/{name.split('#')[0]}" for name in named} <= files


def test_the_screen_is_the_same_for_everybody(client, signed_in, owner):
    first = client.get("/charting/").content
    owner.is_injector = True
    owner.save()
    assert signed_in(owner).get("/charting/").content == first


def test_the_version_follows_the_screen(client, monkeypatch):
    before = told(client)["version"]
    assert told(client)["version"] == before
    monkeypatch.setattr(kept, "shell_text", lambda: "another screen")
    assert told(client)["version"] != before


def test_the_manifest_carries_the_clinics_name_and_needs_no_sign_in(client, owner):
    save_policy(policy=ClinicPolicy(name="Riverside Clinic"), actor=owner)
    client.logout()
    answer = client.get(MANIFEST)
    assert answer["Content-Type"] == "application/manifest+json"
    manifest = answer.json()
    assert manifest["name"] == "Riverside Clinic: charting"
    assert (manifest["start_url"], manifest["display"]) == ("/charting/", "standalone")


def test_icons_are_there_in_the_sizes_that_are_asked_for(client):
    # W3C Web Application Manifest, "sizes" and "purpose". 192 and 512 pixels: common practice.
    icons = client.get(MANIFEST).json()["icons"]
    assert {(icon["sizes"], icon["purpose"]) for icon in icons} == {
        ("192x192", "any"), ("512x512", "any"), ("192x192", "maskable"), ("512x512", "maskable"),
    }  # fmt: skip
    for icon in icons:
        with open(finders.find(icon["src"].removeprefix("/static/")), "rb") as file:
            picture = Image.open(BytesIO(file.read()))
        assert (picture.format, f"{picture.width}x{picture.height}") == ("PNG", icon["sizes"])
        if icon["purpose"] == "maskable":
            # The corners belong to the ground, for the tablet cuts its own shape.
            assert picture.convert("RGBA").getpixel((0, 0))[3] == 255
