"""Foundations for every test: where the test database is, and how it is emptied."""

import gc
import shutil
from contextlib import contextmanager

import pytest
from django.conf import settings
from django.db import connections, transaction
from django.test import TransactionTestCase

from clinic.database import triggers
from tests.factories import make_patient, make_user
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


@pytest.fixture(scope="session")
def django_db_modify_db_settings(django_db_keepdb, request, tmp_path_factory):
    """
    The SQLite test database is a file of this run.

    In memory all threads would share one connection, and a race test would prove nothing.
    """
    if django_db_keepdb:
        file = tmp_path_factory.mktemp("database") / "test.sqlite3"
        shutil.copy(request.getfixturevalue("migrated_file"), file)
        settings.DATABASES["default"].setdefault("TEST", {})["NAME"] = str(file)


@pytest.fixture(scope="session", autouse=True)
def photographs_lie_elsewhere(tmp_path_factory):
    """Nothing is written into var/."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(settings, "VAR_DIR", tmp_path_factory.mktemp("var"))
        yield


@contextmanager
def rules_asleep(connection):
    """
    The triggers do nothing within the block, and are in force again after it.

    PostgreSQL has a switch for it, which is there for restoring. SQLite has none, so they are taken
    away and put back, in one transaction because each of its own waits for the disk.
    """
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SET session_replication_role = replica")
            try:
                yield
            finally:
                cursor.execute("RESET session_replication_role")
        return
    with transaction.atomic(using=connection.alias):
        triggers.drop_all(connection)
        yield
        triggers.install_all(connection)


# What `migrate` writes and no test changes.
KEPT = {"django_content_type", "auth_permission"}


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
    with rules_asleep(connection), connection.cursor() as cursor:
        cursor.execute(is_filled)
        while filled := [table for (table,) in cursor.fetchall()]:
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
def signed_in(client):
    """`signed_in(user)` gives the test client of that person."""

    def sign_in(user):
        client.force_login(user)
        return client

    return sign_in
