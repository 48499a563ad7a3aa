"""The demo clinic, filled once for all tests of a module that only look at it."""

from datetime import date
from pathlib import Path

import pytest
from django.db import connection, transaction

from records.demo.seed import seed

TODAY = date(2026, 11, 25)
FEW = 12
"""Sessions: enough to meet each step, quick enough to do again."""


@pytest.fixture(scope="module")
def demo(django_db_setup, django_db_blocker):
    """
    The whole of it, as of `TODAY`; what happens to it is rolled back.

    The tests still need the mark `django_db`: without one pytest-django makes no test database.
    """
    with django_db_blocker.unblock(), transaction.atomic():
        assert "test" in Path(connection.settings_dict["NAME"]).name
        assert seed(TODAY)
        yield TODAY
        transaction.set_rollback(True)
