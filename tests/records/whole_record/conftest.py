import pytest

from records.whole_record.enums import Purpose
from records.whole_record.models import WholeRecord
from records.whole_record.services import ask_for
from tests.rich_patient import make_rich_patient


@pytest.fixture
def rich(owner, injector, desk):
    return make_rich_patient(owner, injector, desk)


@pytest.fixture
def asked(patient, injector) -> WholeRecord:
    """Of a patient of whom nothing is on record but who they are."""
    return ask_for(
        record=WholeRecord(patient=patient, purpose=Purpose.PATIENT, recipient="Ann Example"),
        actor=injector,
    )
