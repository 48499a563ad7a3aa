"""Alive, ready and figures; the last two for the machine alone."""

import shutil
from datetime import timedelta
from types import SimpleNamespace

import pytest
from django.db import OperationalError, connection
from django.db.migrations.recorder import MigrationRecorder
from django.utils import timezone
from prometheus_client.parser import text_string_to_metric_families

from clinic.background.models import WorkerSeen
from clinic.background.presence import note_seen
from clinic.database import triggers
from clinic.serving import queries

TOKEN = "kT3-mR9xVq2_LfZw8YbNc5HsJd7GpUe4QaXi6oWl0BtRySnEv1"


@pytest.fixture
def seen(db):
    note_seen()


def parts(answer) -> dict[str, str]:
    return {part["name"]: part["tells"] for part in answer.json()["parts"]}


def test_alive_asks_no_database(client):
    """Without the mark `db` pytest-django refuses every query."""
    answer = client.get("/health/")
    assert (answer.status_code, answer.content) == (200, b"alive\n")
    assert client.post("/health/").status_code == 405


def test_ready_when_all_is_well(client, seen):
    answer = client.get("/ready/")
    assert (answer.status_code, answer.json()["ready"]) == (200, True)
    names = ["database", "migrations", "rules", "worker", "storage", "disk"]
    assert parts(answer) == dict.fromkeys(names, "")


def test_ready_takes_few_queries(client, seen, django_assert_max_num_queries):
    client.get("/ready/")
    with django_assert_max_num_queries(6):
        client.get("/ready/")


def test_a_worker_that_is_silent_is_told(client, db):
    assert "never been seen" in parts(client.get("/ready/"))["worker"]
    WorkerSeen.objects.create(seen_at=timezone.now() - timedelta(minutes=6))
    answer = client.get("/ready/")
    assert (answer.status_code, answer.json()["ready"]) == (503, False)
    assert "manage.py work" in parts(answer)["worker"]


def test_a_migration_that_is_missing_is_told(client, seen):
    MigrationRecorder(connection).record_unapplied("clinic", "0018_worker_seen")
    assert "1 migrations are not applied" in parts(client.get("/ready/"))["migrations"]


def test_a_rule_that_is_missing_is_told(client, seen, monkeypatch):
    expected = triggers.expected_names(connection.vendor)
    monkeypatch.setattr(triggers, "expected_names", lambda vendor: expected | {"one_more"})
    assert "1 rules of the database are missing" in parts(client.get("/ready/"))["rules"]


def test_no_database_is_told_and_nothing_else_asked_of_it(client, seen, monkeypatch):
    def gone():
        raise OperationalError("server closed the connection, user=clinic")

    monkeypatch.setattr(queries, "connection", SimpleNamespace(cursor=gone))
    answer = client.get("/ready/")
    assert answer.status_code == 503
    told = parts(answer)
    assert told["database"] == "The database does not answer."
    assert told["worker"].startswith("Not asked")
    assert (told["storage"], told["disk"]) == ("", "")
    assert b"user=clinic" not in answer.content


def test_a_folder_that_cannot_be_written_is_told(client, seen, settings, tmp_path):
    (tmp_path / "pictures").write_text("a file where the folder should be")
    settings.VAR_DIR = tmp_path
    assert "Nothing can be written" in parts(client.get("/ready/"))["storage"]


def test_a_disk_that_fills_is_told(client, seen, monkeypatch):
    monkeypatch.setattr(shutil, "disk_usage", lambda path: SimpleNamespace(free=5 * 2**20))
    assert "Only 5 MB are free; 1024 MB" in parts(client.get("/ready/"))["disk"]


@pytest.mark.parametrize("path", ["/ready/", "/metrics/"])
def test_only_the_machine_itself_may_ask(client, seen, path, settings):
    assert client.get(path).status_code == 200
    assert client.get(path, REMOTE_ADDR="").status_code == 200  # a socket of the file system
    assert client.get(path, REMOTE_ADDR="192.0.2.7").status_code == 404
    for header in ("forwarded", "x-forwarded-for", "x-real-ip"):
        assert client.get(path, headers={header: "127.0.0.1"}).status_code == 404
    bearer = {"authorization": f"Bearer {TOKEN}"}
    assert client.get(path, REMOTE_ADDR="192.0.2.7", headers=bearer).status_code == 404
    settings.METRICS_TOKEN = TOKEN
    assert client.get(path, REMOTE_ADDR="192.0.2.7", headers=bearer).status_code == 200
    wrong = {"authorization": f"Bearer {TOKEN}x"}
    assert client.get(path, REMOTE_ADDR="192.0.2.7", headers=wrong).status_code == 404
    assert client.get(path, REMOTE_ADDR="192.0.2.7", headers={"authorization": "Bearer "}
                      ).status_code == 404  # fmt: skip


def figures(client) -> dict[tuple, float]:
    """Read by the parser of the library, which knows the format."""
    text = client.get("/metrics/").content.decode()
    return {
        (sample.name, *sorted(sample.labels.items())): sample.value
        for family in text_string_to_metric_families(text)
        for sample in family.samples
    }


def test_requests_are_counted_by_route_and_never_by_address(client, seen):
    def counted(method: str, status: str) -> tuple:
        labels = (("method", method), ("route", "health"), ("status", status))
        return ("clinic_requests_total", *labels)

    alive, invented = counted("GET", "200"), counted("other", "405")
    before = figures(client)
    client.get("/health/?q=Zenobia")
    client.generic("ZENOBIA", "/health/")
    after = figures(client)
    assert after[alive] == before.get(alive, 0) + 1
    assert after[invented] == before.get(invented, 0) + 1
    assert "Zenobia" not in client.get("/metrics/").content.decode()


def test_figures_tell_of_database_worker_and_disk(client, seen, monkeypatch):
    found = figures(client)
    assert found["clinic_database_up",] == 1
    assert 0 <= found["clinic_worker_seen_seconds",] < 60
    assert found["clinic_disk_free_bytes",] > 0
    monkeypatch.setattr(WorkerSeen.objects, "filter", _gone)
    assert figures(client)["clinic_database_up",] == 0


def _gone(**asked):
    raise OperationalError("gone")


def test_the_migrations_of_the_code_are_all_looked_for():
    assert ("clinic", "0001_initial") in queries._on_disk()
    assert ("records", "0001_initial") in queries._on_disk()
