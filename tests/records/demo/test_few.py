"""
A small demo clinic, on either database: every step of the large one is met, and the books agree.

The large one is the same steps more often; what it holds is looked at on one database.
"""

import pytest
from django.core.management import call_command

from clinic.audit.queries import verify_chain
from records.demo.seed import seed
from records.plans.models import PlanSummary
from records.sessions.models import TreatmentSession
from records.sessions.queries.balances import unit_checks
from tests.records.demo.conftest import FEW, TODAY

pytestmark = pytest.mark.django_db


def test_few_sessions_meet_every_step_and_their_books_agree(capsys):
    assert seed(TODAY, FEW)
    assert TreatmentSession.objects.count() == FEW
    assert TreatmentSession.objects.unsigned().count() == 1
    assert PlanSummary.objects.exists()
    assert [check for check in unit_checks() if check.fault] == []
    assert verify_chain().intact
    call_command("verify_ledger")
    assert f"{FEW - 1} signed sessions unchanged" in capsys.readouterr().out
