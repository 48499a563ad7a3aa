"""The demo on other days: the same for the same day, and every day works."""

import hashlib
import json
from datetime import date

import pytest
from django.core.management import CommandError, call_command
from django.db import transaction

from clinic.audit.models import AuditEvent
from clinic.audit.queries import verify_chain
from clinic.staff.models import User
from clinic.stock.models import Lot, UnitOfStock
from records.demo.seed import seed
from records.patients.models import Patient
from records.sessions.models import InjectionEntry, TreatmentSession
from records.sessions.queries.balances import unit_checks
from tests.factories import make_user
from tests.records.demo.conftest import FEW

DAYS = [
    date(2026, 11, 29),  # a Sunday, when the clinic is closed
    date(2028, 2, 29),
    date(2026, 3, 29),  # the clocks go forward
    date(2026, 10, 25),  # and back
    date(2027, 1, 1),
]


@pytest.fixture(autouse=True)
def summaries_are_not_printed(monkeypatch):
    """Printing takes longer than all else of a small clinic; `test_few.py` prints them."""
    monkeypatch.setattr("records.plans.services.summaries.render_pdf", str.encode)


class Undo(Exception):
    """Ends a block and takes back what it wrote."""


def digest() -> str:
    """Over what a person sees of patients, lots and points; ids may differ from run to run."""
    rows = [
        list(Patient.objects.order_by("pk").values_list("record_number", "full_name", "birth_date",
                                                        "phone", "weight_g")),
        list(Lot.objects.order_by("pk").values_list("product__name", "number", "expires_on")),
        list(UnitOfStock.objects.order_by("pk").values_list("label", "state", "drawn", "wasted")),
        list(InjectionEntry.objects.order_by("pk").values_list(
            "key", "session__started_at", "session__patient__full_name", "number", "unit__label",
            "view", "x_dmm", "y_dmm", "region", "side", "amount",
        )),
    ]  # fmt: skip
    return hashlib.sha256(json.dumps(rows, default=str).encode()).hexdigest()


def digest_of(day: date) -> str:
    found = ""
    try:
        with transaction.atomic():
            assert seed(day, FEW)
            found = digest()
            raise Undo
    except Undo:
        return found


@pytest.fixture(scope="module")
def digests() -> dict[date, str]:
    """What a day gave before, as seeding is dear."""
    return {}


@pytest.mark.django_db
@pytest.mark.parametrize("day", DAYS)
def test_every_day_works(day, digests):
    assert seed(day, FEW)
    digests[day] = digest()
    assert TreatmentSession.objects.count() == FEW
    assert [check for check in unit_checks() if check.fault] == []
    assert verify_chain().intact


@pytest.mark.django_db
def test_the_same_day_gives_the_same_clinic_and_another_day_another(digests):
    day, other = DAYS[:2]
    for missing in {day, other} - digests.keys():
        digests[missing] = digest_of(missing)
    assert digest_of(day) == digests[day] != digests[other]


@pytest.mark.django_db
def test_another_clinic_s_database_is_left_alone(capsys):
    make_user("somebody", is_owner=True)
    call_command("seed_demo")
    assert "This database holds another clinic; nothing was changed." in capsys.readouterr().out
    assert User.objects.count() == 1
    assert not Patient.objects.exists()
    assert not AuditEvent.objects.exists()


@pytest.mark.django_db
def test_a_day_that_is_none_is_refused():
    with pytest.raises(CommandError, match="2026-13-01"):
        call_command("seed_demo", "--today", "2026-13-01")
