"""Secrets from the environment or a file, and what stops a clinic's start."""

import pytest
from django.core.exceptions import ImproperlyConfigured

from clinic.serving.environment import refuse_unsafe, secret_text, strong_key

KEY = "Zq7-PwJ3nX_8rTfUa2LdVb0KcYsM4hGeRi9oWl6Bt5NxQyAe1S"


@pytest.fixture(autouse=True)
def nothing_set(monkeypatch):
    for name in ("CLINIC_WORD", "CLINIC_WORD_FILE", "DATABASE_URL_FILE"):
        monkeypatch.delenv(name, raising=False)


def test_a_secret_is_the_variable_or_what_stands_in_its_file(monkeypatch, tmp_path):
    assert secret_text("CLINIC_WORD") == ""
    file = tmp_path / "word"
    file.write_text("from the file\n")
    monkeypatch.setenv("CLINIC_WORD_FILE", str(file))
    assert secret_text("CLINIC_WORD") == "from the file"
    monkeypatch.delenv("CLINIC_WORD_FILE")
    monkeypatch.setenv("CLINIC_WORD", "from the environment")
    assert secret_text("CLINIC_WORD") == "from the environment"


def test_both_at_once_are_refused(monkeypatch):
    monkeypatch.setenv("CLINIC_WORD", "one")
    monkeypatch.setenv("CLINIC_WORD_FILE", "/dev/null")
    with pytest.raises(ImproperlyConfigured, match="Set CLINIC_WORD or CLINIC_WORD_FILE, not both"):
        secret_text("CLINIC_WORD")


@pytest.mark.parametrize(
    ("content", "word"), [(None, "cannot be read"), (b" \n", "is empty"), (b"\xff\xfe", "no text")]
)
def test_a_file_without_a_secret_is_named(monkeypatch, tmp_path, content, word):
    file = tmp_path / "word"
    if content is not None:
        file.write_bytes(content)
    monkeypatch.setenv("CLINIC_WORD_FILE", str(file))
    with pytest.raises(ImproperlyConfigured, match=rf"^CLINIC_WORD_FILE names {file}, .*{word}"):
        secret_text("CLINIC_WORD")


@pytest.mark.parametrize(
    "weak", ["letmein", KEY[:49], "abcd" * 20, "django-insecure-" + KEY], ids=len
)
def test_a_weak_key_is_refused_and_not_told(monkeypatch, weak):
    """As weak as Django's check security.W009 has it."""
    monkeypatch.setenv("CLINIC_WORD", weak)
    with pytest.raises(ImproperlyConfigured, match="too easy to guess") as refusal:
        strong_key("CLINIC_WORD")
    assert weak not in str(refusal.value)


def test_a_missing_key_says_how_to_make_one(monkeypatch):
    with pytest.raises(ImproperlyConfigured, match=r"CLINIC_WORD is missing.*token_urlsafe"):
        strong_key("CLINIC_WORD")
    monkeypatch.setenv("CLINIC_WORD", KEY)
    assert strong_key("CLINIC_WORD") == KEY


SAFE = {
    "DEBUG": False, "SECURE": True, "ALLOWED_HOSTS": ["record.clinic.example", "localhost"],
    "PUBLIC_URL": "https://record.clinic.example",
}  # fmt: skip


@pytest.mark.parametrize(
    ("name", "value", "told"),
    [
        ("DEBUG", True, "CLINIC_DEBUG must not be yes"),
        ("SECURE", False, "CLINIC_HTTPS must not be no"),
        ("ALLOWED_HOSTS", ["localhost", "127.0.0.1", "[::1]"], "must name the host people open"),
        ("ALLOWED_HOSTS", [""], "must name the host people open"),
        ("ALLOWED_HOSTS", ["*"], "must name whole hosts"),
        ("ALLOWED_HOSTS", [".clinic.example"], "must name whole hosts"),
        ("PUBLIC_URL", "http://record.clinic.example", "must begin with https://"),
    ],
)
def test_what_is_unsafe_stops_a_clinic_in_production(monkeypatch, name, value, told):
    monkeypatch.setenv("DATABASE_URL", "postgres://clinic@host/clinic")
    refuse_unsafe(SAFE)
    with pytest.raises(ImproperlyConfigured, match=told):
        refuse_unsafe(SAFE | {name: value})


def test_a_database_is_named_and_all_problems_are_told_at_once(monkeypatch):
    monkeypatch.delenv("DATABASE_URL", raising=False)
    with pytest.raises(ImproperlyConfigured, match=r"CLINIC_DEBUG .*DATABASE_URL"):
        refuse_unsafe(SAFE | {"DEBUG": True})
