"""What tests/conftest.py and tests/settings.py promise to every other test."""

import threading
from pathlib import Path

import pytest
from django.conf import settings
from django.db import IntegrityError, connection
from django.test import TransactionTestCase

from clinic.audit.models import AuditEvent
from clinic.audit.services import acting
from clinic.database import triggers
from clinic.database.models import Counter


def note_something() -> None:
    with acting(None) as trail:
        trail.add("tests.noted", Counter(name="tests"))


@pytest.mark.django_db(transaction=True)
def test_append_only_tables_are_emptied_between_tests_and_refuse_again():
    note_something()
    with pytest.raises(IntegrityError, match="append-only"):
        AuditEvent.objects.all().delete()

    TransactionTestCase("__init__")._fixture_teardown()

    assert AuditEvent.objects.count() == 0
    assert triggers.installed_names(connection) == triggers.expected_names(connection.vendor)
    note_something()
    with pytest.raises(IntegrityError, match="append-only"):
        AuditEvent.objects.all().delete()


@pytest.mark.django_db(transaction=True)
def test_a_thread_has_a_connection_of_its_own():
    found = []

    def look():
        found.append(connection.connection is None)
        connection.ensure_connection()
        found.append(Counter.objects.filter(name="seen by the other thread").exists())
        connection.close()

    Counter.objects.create(name="seen by the other thread")
    other = threading.Thread(target=look)
    other.start()
    other.join()
    assert found == [True, True]


def test_no_test_touches_what_a_developer_keeps(db):
    name = connection.settings_dict["NAME"]
    if connection.vendor == "sqlite":
        assert Path(name).name == "test.sqlite3"
        assert not Path(name).is_relative_to(settings.BASE_DIR)
    else:
        assert name == "test_clinic"
        assert connection.settings_dict["HOST"].startswith("/")  # a socket
