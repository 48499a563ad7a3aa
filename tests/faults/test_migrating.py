"""Migrations that meet each other, and one that is killed: real processes, an empty database."""

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import psycopg
import pytest
from django.conf import settings
from django.db import connection

from clinic.database import triggers

ROOT = Path(__file__).resolve().parents[2]
AT_IT = """
import django
django.setup()
from django.db import connection
from clinic.database.migrating import migrating_alone
with migrating_alone(connection, lambda: None):
    print("at it")
    input()
"""


@pytest.fixture
def empty_database(tmp_path, db) -> Iterator[str]:
    """The address of a database without a table, of the kind the tests run on."""
    if connection.vendor == "sqlite":
        yield f"sqlite:///{tmp_path}/empty.sqlite3"
        return
    url = os.environ["DATABASE_URL"]
    with psycopg.connect(url, autocommit=True) as maintenance:
        maintenance.execute("CREATE DATABASE empty_of_migrations")
        yield url.rpartition("/")[0] + "/empty_of_migrations"
        maintenance.execute("DROP DATABASE empty_of_migrations WITH (FORCE)")


def started(url: str, *command: str) -> subprocess.Popen:
    environment = {name: value for name, value in os.environ.items() if name[:7] != "CLINIC_"}
    environment |= {"DATABASE_URL": url, "DJANGO_SETTINGS_MODULE": "clinic.settings"}
    environment |= {"CLINIC_SECRET_KEY": "for a fault only", "CLINIC_VAR": str(settings.VAR_DIR)}
    return subprocess.Popen(
        [sys.executable, *command], cwd=ROOT, env=environment, text=True,
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
    )  # fmt: skip


def read_until(process: subprocess.Popen, word: str) -> None:
    assert process.stdout
    for line in process.stdout:
        if word in line:
            return
    pytest.fail(f"“{word}” was never said")


def test_a_migration_waits_for_another_and_goes_on_when_that_one_is_killed(empty_database):
    with started(empty_database, "-uc", AT_IT) as first:
        read_until(first, "at it")
        with started(empty_database, "manage.py", "migrate", "--plan") as second:
            read_until(second, "this one waits")
            first.kill()
            said, _ = second.communicate()
    assert second.returncode == 0, said
    assert "Planned operations" in said


def test_the_rules_stand_while_nothing_is_migrated(db):
    migrate_signals = {"sender": None, "using": "default", "plan": []}
    triggers.drop_before_migrate(**migrate_signals)
    assert triggers.expected_names(connection.vendor) <= triggers.installed_names(connection)
