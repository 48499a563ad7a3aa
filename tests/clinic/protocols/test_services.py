"""The clinic's protocol is kept in versions, and none of them ever changes."""

import pytest
from django.db import IntegrityError, transaction

from clinic.audit.models import AuditEvent
from clinic.protocols.errors import ProtocolMoved
from clinic.protocols.models import Protocol, ProtocolStep
from clinic.protocols.queries import current_protocol
from clinic.protocols.services import save_protocol
from planning.occlusion_protocol import SUPPLIED_STEPS, Step
from tests.factories import make_protocol

pytestmark = pytest.mark.django_db
OWN = Step("Call Olga", "Room 2.", "Clinic policy")


def test_the_supplied_steps_hold_until_the_clinic_saves_its_own(owner):
    current = current_protocol()
    assert (current.steps, current.is_supplied) == (SUPPLIED_STEPS, True)
    assert current.stored.reassess_minutes == 60
    make_protocol(owner, OWN, reassess_minutes=30)
    current = current_protocol()
    assert (current.steps, current.version) == ((OWN,), "Version 1")
    assert current.stored.reassess_minutes == 30


def test_a_new_version_leaves_the_old_one_as_it_was_and_is_in_the_trail(owner):
    make_protocol(owner, OWN)
    make_protocol(owner, OWN, Step("Second", "", "Clinic policy"))
    titles = ProtocolStep.objects.order_by("protocol__number", "position")
    assert list(titles.values_list("protocol__number", "title")) == [
        (1, "Call Olga"), (2, "Call Olga"), (2, "Second"),
    ]  # fmt: skip
    event = AuditEvent.objects.filter(action="protocol.saved").first()
    assert '"steps":["Call Olga","Second"]' in event.data


def test_two_owners_who_write_at_once_do_not_undo_each_other(owner):
    make_protocol(owner, OWN)
    with pytest.raises(ProtocolMoved, match="Somebody saved version 1 meanwhile"):
        save_protocol(protocol=Protocol(), steps=[OWN], seen=0, actor=owner)
    assert Protocol.objects.count() == 1


def test_one_without_a_step_is_refused(owner):
    with pytest.raises(ValueError, match="at least one step"):
        save_protocol(protocol=Protocol(), steps=[], seen=0, actor=owner)


@pytest.mark.parametrize("minutes", [14, 61])
def test_the_database_refuses_another_time_to_the_next_look(owner, minutes):
    with pytest.raises(IntegrityError, match="protocol_looks_again_in_time"), transaction.atomic():
        make_protocol(owner, OWN, reassess_minutes=minutes)


@pytest.mark.parametrize("fields", [{"title": ""}, {"source": ""}])
def test_the_database_refuses_a_step_without_title_or_source(owner, fields):
    protocol = make_protocol(owner, OWN)
    step = {"title": "Stop", "source": "Clinic policy", **fields}
    with pytest.raises(IntegrityError, match="step_says_what_and_whence"), transaction.atomic():
        ProtocolStep.objects.create(protocol=protocol, position=2, **step)


def test_the_database_keeps_one_step_a_place(owner):
    protocol = make_protocol(owner, OWN)
    with pytest.raises(IntegrityError), transaction.atomic():
        ProtocolStep.objects.create(protocol=protocol, position=1, title="Again", source="Ours")


@pytest.mark.parametrize("model", [Protocol, ProtocolStep])
def test_a_saved_version_is_neither_changed_nor_deleted(owner, model):
    make_protocol(owner, OWN)
    field = "what_to_say" if model is Protocol else "text"
    changes = {field: "x"}
    for act in (lambda: model.objects.update(**changes), lambda: model.objects.all().delete()):
        with pytest.raises(IntegrityError), transaction.atomic():
            act()
