"""What a photograph may be used for, on which days."""

from datetime import timedelta

import pytest
from django.utils import timezone

from clinic.audit.models import AuditEvent
from records.photographs.enums import Use
from records.photographs.errors import PhotographGone, UseOver
from records.photographs.models import Photograph
from records.photographs.queries import usable
from records.photographs.services.keeping import take_out_photograph
from records.photographs.services.uses import note_uses, withdraw_use
from tests.factories import make_photograph

pytestmark = pytest.mark.django_db


@pytest.fixture
def photograph(injector, patient):
    return make_photograph(injector, patient, uses={Use.RECORD: None})


def may_be_used(use: Use, days_from_now: int = 0) -> bool:
    day = timezone.localdate() + timedelta(days=days_from_now)
    return Photograph.objects.usable_for(use, on=day).exists()


def test_what_was_not_agreed_is_not_used(photograph):
    assert may_be_used(Use.RECORD)
    assert not may_be_used(Use.TEACHING)


def test_the_last_day_counts_and_the_day_after_does_not(photograph, injector):
    last = timezone.localdate() + timedelta(days=3)
    note_uses(photograph=photograph, uses={Use.PUBLICATION: last}, actor=injector)
    assert may_be_used(Use.PUBLICATION, 3)
    assert not may_be_used(Use.PUBLICATION, 4)


def test_it_is_agreed_anew_after_it_ran_out(photograph, injector):
    today = timezone.localdate()
    note_uses(photograph=photograph, uses={Use.TEACHING: today}, actor=injector)
    note_uses(photograph=photograph, uses={Use.TEACHING: None}, actor=injector)
    assert may_be_used(Use.TEACHING, 1000)
    assert usable(Use.TEACHING).count() == 1


def test_withdrawing_ends_it_at_once(photograph, injector):
    note_uses(photograph=photograph, uses={Use.TEACHING: None}, actor=injector)
    withdraw_use(photograph=photograph, use=Use.TEACHING, actor=injector)
    assert not may_be_used(Use.TEACHING)
    assert may_be_used(Use.RECORD)
    assert AuditEvent.objects.filter(
        action="photograph_use.withdrawn", patient_id=photograph.patient_id
    ).exists()


def test_withdrawing_the_record_withdraws_all(photograph, injector):
    note_uses(
        photograph=photograph, uses={Use.TEACHING: None, Use.PUBLICATION: None}, actor=injector
    )
    assert withdraw_use(photograph=photograph, use=Use.RECORD, actor=injector) == 3
    assert not any(may_be_used(use) for use in Use)


def test_nothing_is_withdrawn_twice(photograph, injector):
    with pytest.raises(UseOver, match="nothing stands"):
        withdraw_use(photograph=photograph, use=Use.TEACHING, actor=injector)


def test_one_taken_out_is_agreed_to_no_more_and_can_be_withdrawn(photograph, injector):
    take_out_photograph(photograph=photograph, reason="Blurred", actor=injector)
    with pytest.raises(PhotographGone):
        note_uses(photograph=photograph, uses={Use.TEACHING: None}, actor=injector)
    assert withdraw_use(photograph=photograph, use=Use.RECORD, actor=injector) == 1
