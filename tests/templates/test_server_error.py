"""The page for a fault must not need what the fault may have broken."""

import re
import sys
from importlib import import_module

import pytest
from django.conf import settings as project
from django.contrib.staticfiles.storage import staticfiles_storage
from django.core.checks import run_checks
from django.core.exceptions import ImproperlyConfigured
from django.core.management import call_command
from django.db import connection
from django.test import Client
from django.views.defaults import server_error

from clinic import settings as served

PAGE = project.BASE_DIR / "templates" / "500.html"


@pytest.fixture
def not_collected(settings, tmp_path):
    """As served, but nobody ran `collectstatic`: every static file's address is unknown."""
    settings.STATIC_ROOT = tmp_path / "static"
    settings.STORAGES = served.STORAGES
    with pytest.raises(ValueError, match="Missing staticfiles manifest"):
        staticfiles_storage.url("css/base.css")


def test_a_fault_is_told_although_static_files_are_missing(not_collected, db):
    """The sign-in page names style sheets and fails; what comes instead says what to do."""
    answer = Client(raise_request_exception=False).get("/staff/sign-in/")
    assert answer.status_code == 500
    page = answer.content.decode()
    assert "Something went wrong" in page
    assert "look at the record before you do it again" in page
    assert answer["Content-Security-Policy"], "the policy holds for this page too"


def test_the_page_asks_the_database_nothing(rf, not_collected):
    """Without the mark `db` pytest-django refuses every query."""
    with pytest.raises(RuntimeError, match="Database access not allowed"):
        connection.cursor()
    assert "Something went wrong" in server_error(rf.get("/")).content.decode()


def test_the_page_stands_alone_and_within_the_policy():
    source = PAGE.read_text()
    assert not re.search(r"\{[%{]", source), "no tag, no variable: nothing that can fail"
    assert not re.search(r"<(script|style|link|img)\b|\bstyle=|\bon\w+=", source)
    assert 'name="color-scheme" content="light dark"' in source
    assert 'href="/"' in source


def told() -> list[str]:
    return [f"{problem.msg} {problem.hint}" for problem in run_checks()
            if problem.id == "clinic.W001"]  # fmt: skip


def test_a_check_says_what_to_run(not_collected):
    (problem,) = told()
    assert "manage.py collectstatic" in problem


def test_the_server_does_not_start_without_them(not_collected, monkeypatch):
    monkeypatch.delitem(sys.modules, "clinic.wsgi", raising=False)
    with pytest.raises(ImproperlyConfigured, match=r"manage\.py collectstatic"):
        import_module("clinic.wsgi")


def test_a_started_server_looks_for_garbage_in_what_came_later(not_collected, monkeypatch):
    asked: list[object] = []
    monkeypatch.setattr("gc.freeze", lambda: asked.append("freeze"))
    monkeypatch.setattr("gc.set_threshold", asked.append)
    monkeypatch.delitem(sys.modules, "clinic.wsgi", raising=False)
    call_command("collectstatic", verbosity=0, interactive=False)
    import_module("clinic.wsgi")
    assert asked == ["freeze", 20_000]


def test_nothing_is_told_once_they_are_collected_or_on_a_developer_s_machine(
    not_collected, settings
):
    settings.DEBUG = True
    assert told() == []
    settings.DEBUG = False
    call_command("collectstatic", verbosity=0, interactive=False)
    assert told() == []
