"""One patient of whom everything is known, and the bundle made of it, for all tests here."""

import json
from decimal import Decimal
from types import SimpleNamespace

import pytest
import time_machine
from django.db import transaction

from records.interchange.services import hand_out_record
from tests.records.interchange.rich import clock, make_rich_patient, make_team


@pytest.fixture(scope="package")
def rich(django_db_setup, django_db_blocker):
    """
    `patient`, `team`, `text` and `bundle`; what the database holds of it is rolled back.

    The tests still need the mark `django_db`: without one pytest-django makes no test database.
    """
    with django_db_blocker.unblock(), transaction.atomic():
        with time_machine.travel(clock(), tick=True):
            team = make_team()
            patient = make_rich_patient(team)
            text = hand_out_record(patient=patient, actor=team.owner)
        yield SimpleNamespace(
            patient=patient, team=team, text=text, bundle=json.loads(text, parse_float=Decimal)
        )
        transaction.set_rollback(True)
