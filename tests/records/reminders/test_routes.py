"""The back ends that come with the program, and choosing another."""

import pytest
from django.core.exceptions import ImproperlyConfigured

from clinic.settings import TextMessages, env_public_url, env_text_messages
from records.reminders.errors import NotNow
from records.reminders.routes.files import TextMessageFiles, write_once
from records.reminders.routes.loading import _made

OWN = "records.reminders.routes"


def test_a_file_is_written_once_and_can_be_asked_for(settings, tmp_path):
    settings.VAR_DIR = tmp_path
    route, reference = TextMessageFiles(), "a" * 32
    assert route.was_sent(reference) is False
    route.send(to="+447700900123", text="First", reference=reference)
    route.send(to="+447700900123", text="Second", reference=reference)
    assert route.was_sent(reference) is True
    [file] = (tmp_path / "text_messages").iterdir()
    assert file.read_text() == "To: +447700900123\n\nFirst\n"


def test_a_disk_that_takes_nothing_is_tried_again(tmp_path):
    (tmp_path / "folder").write_text("a file is in the way")
    with pytest.raises(NotNow, match="could not be written"):
        write_once(tmp_path / "folder" / "message", b"")


@pytest.mark.parametrize(
    ("text", "debug", "chosen"),
    [
        ("", False, TextMessages(f"{OWN}.files.TextMessageFiles", False)),
        ("file", False, TextMessages(f"{OWN}.files.TextMessageFiles", False)),
        ("console", True, TextMessages(f"{OWN}.console.TextMessageLines", False)),
        ("our_provider.Texts", False, TextMessages("our_provider.Texts", True)),
    ],
)
def test_each_way(monkeypatch, text, debug, chosen):
    monkeypatch.setenv("CLINIC_SMS", text)
    assert env_text_messages(debug=debug) == chosen


@pytest.mark.parametrize("text", ["console", "yes", "a b.C", "our_provider.", "https://x.example"])
def test_a_wrong_value_stops_the_start_and_names_the_variable(monkeypatch, text):
    monkeypatch.setenv("CLINIC_SMS", text)
    with pytest.raises(ImproperlyConfigured, match=r"^CLINIC_SMS must be file"):
        env_text_messages(debug=False)


@pytest.mark.parametrize("path", ["no_such_module.Route", "datetime.datetime", "decimal.Decimal"])
def test_a_class_that_cannot_send_stops_the_start(path):
    with pytest.raises(ImproperlyConfigured, match=r"^CLINIC_SMS: "):
        _made(path)


@pytest.mark.parametrize("path", ["files.TextMessageFiles", "console.TextMessageLines"])
def test_the_own_ones_can_be_chosen(path, capsys):
    route = _made(f"{OWN}.{path}")
    assert callable(route.send)
    assert callable(route.was_sent)


@pytest.mark.parametrize(
    ("text", "origins", "url"),
    [
        ("", [], "http://localhost:8000"),
        ("", ["https://record.example"], "https://record.example"),
        ("https://record.example/", ["https://other.example"], "https://record.example"),
    ],
)
def test_links_lead_to_where_patients_reach_it(monkeypatch, text, origins, url):
    monkeypatch.setenv("CLINIC_PUBLIC_URL", text)
    assert env_public_url(origins) == url


@pytest.mark.parametrize(
    "text", ["record.example", "ftp://x.example", "https://", "https://x:99999", "https://x/?a=b"]
)
def test_a_wrong_address_stops_the_start(monkeypatch, text):
    monkeypatch.setenv("CLINIC_PUBLIC_URL", text)
    with pytest.raises(ImproperlyConfigured, match=r"^CLINIC_PUBLIC_URL must be such as"):
        env_public_url([])
