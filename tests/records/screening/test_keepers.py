"""What the medical history has to say before the needle."""

from datetime import timedelta

import pytest
from django.utils import timezone

from clinic.policy.queries import current_policy
from clinic.policy.services import save_policy
from records.gates.registry import Gate
from records.patients.models import Alert
from records.patients.services import end_alert
from records.screening.enums import CheckKind
from records.screening.keepers import history_gates
from records.screening.services.histories import check_history, confirm_unchanged
from tests.records.gates.fakes import said_of
from tests.records.screening.histories import YES, make_history


def found(patient, *, after: timedelta = timedelta()) -> list[Gate]:
    return said_of(history_gates, patient, now=timezone.now() + after)


def keys(patient, *, after: timedelta = timedelta()) -> list[str]:
    return [gate.key for gate in found(patient, after=after)]


def test_a_history_never_given_is_pointed_out(patient):
    assert keys(patient) == ["screening-missing"]


def test_a_history_given_and_read_says_nothing(injector, patient):
    check_history(form=make_history(injector, patient), actor=injector)
    assert keys(patient) == []


def test_what_no_injector_read_is_pointed_out(injector, patient):
    make_history(injector, patient)
    assert keys(patient) == ["screening-unread"]


def test_a_stop_shuts_the_gate_and_an_injector_may_decide(injector, patient):
    form = make_history(injector, patient, occlusion=YES, keloid=YES)
    check_history(form=form, actor=injector)
    [gate] = found(patient)
    assert (gate.key, gate.level, gate.can_be_decided) == ("screening-occlusion", "stop", True)
    assert gate.source == "common practice, no source"
    assert gate.url == f"/screening/forms/{form.pk}/"


def test_a_stop_that_somebody_ended_says_nothing(injector, patient):
    check_history(form=make_history(injector, patient, occlusion=YES), actor=injector)
    end_alert(alert=Alert.objects.get(), reason="A bruise, no occlusion", actor=injector)
    assert keys(patient) == []


@pytest.mark.parametrize(("days", "is_old"), [(360, False), (370, True)])
def test_after_a_year_it_is_asked_anew(injector, patient, days, is_old):
    check_history(form=make_history(injector, patient), actor=injector)
    assert (keys(patient, after=timedelta(days=days)) == ["screening-old"]) is is_old


def test_nothing_changed_renews_it(injector, patient):
    check_history(form=make_history(injector, patient), actor=injector)
    confirm_unchanged(patient=patient, kind=CheckKind.UNCHANGED_PATIENT, actor=injector)
    assert keys(patient) == []


def test_a_clinic_may_set_no_time(injector, owner, patient):
    policy = current_policy()
    policy.history_months = None
    save_policy(policy=policy, actor=owner)
    check_history(form=make_history(injector, patient), actor=injector)
    assert keys(patient, after=timedelta(days=4000)) == []
