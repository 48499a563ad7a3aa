"""Foundations for every test: where the test database is, and how it is emptied."""

import gc
import shutil
import tempfile
from contextlib import contextmanager, nullcontext
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connections, transaction
from django.test import TestCase, TransactionTestCase

from tests.factories import make_consent, make_patient, make_user
from tests.migrated import migrated_in


def pytest_collection_finish():
    """
    What is there when the tests begin, such as Django and every model, stays: it is not looked at
    again for what could be freed, and the rest not after each 700 objects, which is a tenth of a
    run's work.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000)


@pytest.fixture(scope="session")
def migrated_file(pytestconfig, tmp_path_factory):
    """A SQLite file with every table and no row, to be copied; kept where pytest keeps things."""
    if pytestconfig.pluginmanager.has_plugin("cacheprovider"):
        return migrated_in(pytestconfig.cache.mkdir("migrated"))
    return migrated_in(tmp_path_factory.mktemp("migrated"))


@pytest.fixture(scope="session")
def django_db_keepdb():
    """The file below has its tables already; a PostgreSQL database is migrated anew."""
    return settings.DATABASES["default"]["ENGINE"].endswith("sqlite3")


def folder_without_disk() -> Path | None:
    """A folder in memory where there is a large one (Linux): nothing waits for the disk there."""
    memory = Path("/dev/shm")  # noqa: S108
    return memory if memory.is_dir() and shutil.disk_usage(memory).free > 2**30 else None


@pytest.fixture(scope="session")
def django_db_modify_db_settings(django_db_keepdb, request):
    """
    The SQLite test database is a file of this run.

    In SQLite's own memory all threads would share one connection, and a race test would prove
    nothing. It is served with the options of the tool, each write waiting for what holds the file.
    """
    if not django_db_keepdb:
        yield
        return
    with tempfile.TemporaryDirectory(prefix="clinic-", dir=folder_without_disk()) as folder:
        file = Path(folder) / "test.sqlite3"
        shutil.copy(request.getfixturevalue("migrated_file"), file)
        settings.DATABASES["default"].setdefault("TEST", {})["NAME"] = str(file)
        yield


@pytest.fixture(scope="session", autouse=True)
def photographs_lie_elsewhere(tmp_path_factory):
    """Nothing is written into var/."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(settings, "VAR_DIR", tmp_path_factory.mktemp("var"))
        yield


# What `migrate` writes and no test changes.
KEPT = {"django_content_type", "auth_permission"}


@contextmanager
def deleting_allowed(connection, tables):
    """
    No rule of the database keeps a row of `tables` from being deleted within the block.

    PostgreSQL has a switch for it, which is there for restoring. SQLite has none: the rules in
    question, and not all three hundred, are taken away and put back word for word.
    """
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SET session_replication_role = replica")
            try:
                yield
            finally:
                cursor.execute("RESET session_replication_role")
            return
        cursor.execute("SELECT name, tbl_name, sql FROM sqlite_master WHERE type = 'trigger'")
        rules = [
            (name, sql) for name, table, sql in cursor.fetchall()
            if table in tables and f" DELETE ON {table} " in sql
        ]  # fmt: skip
        for name, _ in rules:
            cursor.execute(f"DROP TRIGGER {name}")
        yield
        for _, sql in rules:
            cursor.execute(sql)


def empty_filled_tables(connection):
    """
    Delete all rows that tests wrote; most tables of a test have none.

    Django's own `flush` empties all ninety and then asks, as after a migration, for rights and
    triggers anew, which took longer than many a test.
    """
    tables = set(connection.introspection.django_table_names(include_views=False)) - KEPT
    is_filled = " UNION ALL ".join(
        f"SELECT '{table}' WHERE EXISTS (SELECT 1 FROM {table})"  # noqa: S608
        for table in sorted(tables)
    )
    # Looked at behind the writers' lock on SQLite, and again on PostgreSQL: a page that a test left
    # open may still be asking the server for something, which writes a row of the trail.
    is_sqlite = connection.vendor == "sqlite"
    alone = transaction.atomic(using=connection.alias) if is_sqlite else nullcontext()
    with alone, connection.cursor() as cursor:
        cursor.execute(is_filled)
        while filled := [table for (table,) in cursor.fetchall()]:
            with deleting_allowed(connection, filled):
                for table in filled:
                    cursor.execute(f"DELETE FROM {table}")  # noqa: S608
            cursor.execute(is_filled)


@pytest.fixture(scope="session", autouse=True)
def only_filled_tables_are_emptied():
    """Tests with `transaction=True` empty the tables at their end: append-only ones refuse that."""

    def empty(self):
        for name in self._databases_names(include_mirrors=False):
            empty_filled_tables(connections[name])

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TransactionTestCase, "_fixture_teardown", empty)
        yield


@pytest.fixture(scope="session", autouse=True)
def connection_stays_open():
    """
    A test's rows are taken back, and the next one goes on with the same connection.

    Django closes it: each test would connect anew and have SQLite or PostgreSQL read all tables,
    triggers and constraints again before its first row.
    """

    def take_back(cls):
        if cls._databases_support_transactions():
            cls._rollback_atomics(cls.cls_atomics)
        super(TestCase, cls).tearDownClass()

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TestCase, "tearDownClass", classmethod(take_back))
        yield


@pytest.fixture
def desk(db):
    """Front desk, Dora Desk."""
    return make_user("desk")


@pytest.fixture
def injector(db):
    """Injector, Ida Injector."""
    return make_user("injector")


@pytest.fixture
def owner(db):
    """Practice owner, Olga Owner, who does not inject."""
    return make_user("owner")


@pytest.fixture
def patient(desk):
    return make_patient(desk)


@pytest.fixture
def patient_agrees(injector, patient):
    """The patient agreed to filler just now, so that nothing stops a session."""
    return make_consent(injector, patient)


@pytest.fixture
def signed_in(client):
    """`signed_in(user)` gives the test client of that person."""

    def sign_in(user):
        client.force_login(user)
        return client

    return sign_in
