"""Foundations for every test: where the test database is, and how it is emptied."""

from contextlib import ExitStack, contextmanager

import pytest
from django.conf import settings
from django.db import connections, transaction
from django.test import TransactionTestCase

from clinic.database import triggers
from tests.factories import make_patient, make_user


@pytest.fixture(scope="session")
def django_db_modify_db_settings(tmp_path_factory):
    """
    The SQLite test database is a file of this run.

    In memory all threads would share one connection, and a race test would prove nothing.
    """
    database = settings.DATABASES["default"]
    if database["ENGINE"].endswith("sqlite3"):
        folder = tmp_path_factory.mktemp("database")
        database.setdefault("TEST", {})["NAME"] = str(folder / "test.sqlite3")


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


@pytest.fixture(scope="session", autouse=True)
def emptying_passes_the_triggers():
    """Tests with `transaction=True` empty the tables at their end: append-only ones refuse that."""
    empty_all_tables = TransactionTestCase._fixture_teardown

    def empty_under_no_rules(self):
        with ExitStack() as asleep:
            for name in self._databases_names(include_mirrors=False):
                asleep.enter_context(rules_asleep(connections[name]))
            empty_all_tables(self)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TransactionTestCase, "_fixture_teardown", empty_under_no_rules)
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
