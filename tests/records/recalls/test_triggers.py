"""What the database itself holds about recall cases, tried by going round the services."""

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from records.appointments.models import Appointment
from records.mailings.models import Mailing
from records.recalls.models import (
    CaseCheck,
    CaseContact,
    CaseEvent,
    CaseMailing,
    CasePatient,
    CaseReport,
    CaseSpan,
    CaseUnit,
    NoticeFile,
    RecallCase,
)
from tests.factories import make_appointment, make_event, make_patient
from tests.records.recalls.cases import PDF, span

pytestmark = pytest.mark.django_db


def refused(act, message: str) -> None:
    with pytest.raises(IntegrityError, match=message), transaction.atomic():
        act()


def close(case, owner) -> None:
    """Closed without a look at what is open."""
    RecallCase.objects.filter(pk=case.pk).update(
        closed_at=timezone.now(), closed_by=owner, closed_digest="x" * 64
    )


def contact(person, owner, **fields) -> CaseContact:
    return CaseContact(
        person=person, channel="phone", outcome="informed", at=timezone.now(), by=owner, **fields
    )


def mailing(owner, **fields) -> Mailing:
    return Mailing.objects.create(
        channel="letter", purpose="Recall", subject="A", body="B", started_at=timezone.now(),
        started_by=owner, **fields,
    )  # fmt: skip


def test_a_closed_case_never_changes_nor_what_hangs_on_it(owner, case, product, units, desk):
    person, row = case.people.first(), case.units.first()
    stranger = make_patient(desk, "Cleo Other")
    close(case, owner)
    now = timezone.now()
    file = NoticeFile(
        case=case, name="a.pdf", content_type="application/pdf", content=PDF, digest="x",
        added_at=now, added_by=owner,
    )  # fmt: skip
    letters = mailing(owner)
    for act in (
        lambda: RecallCase.objects.filter(pk=case.pk).update(text="Nothing"),
        lambda: RecallCase.objects.filter(pk=case.pk).update(closed_at=None),
        lambda: span(product, "MORE", "MORE", case=case).save(),
        lambda: CaseSpan.objects.filter(case=case).update(lot_last="Z"),
        lambda: CasePatient.objects.create(case=case, patient=stranger, added_at=now),
        lambda: CasePatient.objects.filter(pk=person.pk).update(unreachable_note="x"),
        lambda: contact(person, owner).save(),
        lambda: CaseCheck.objects.create(person=person, position=1),
        lambda: CaseUnit.objects.create(case=case, unit=units[0]),
        lambda: CaseUnit.objects.filter(pk=row.pk).update(not_found="x"),
        lambda: CaseEvent.objects.create(
            case=case, event=make_event(owner, person.patient), added_at=now
        ),
        lambda: CaseMailing.objects.create(case=case, mailing=letters),
        lambda: file.save(),
    ):
        refused(act, "the recall case is closed")
    CaseReport.objects.create(case=case, pdf=PDF, digest="x", made_at=now)


def test_in_a_drill_nobody_is_contacted_and_nothing_is_stopped_or_leaves(
    owner, injector, drill, case, product
):
    person, row = drill.people.first(), drill.units.first()
    quarantine = case.spans.get().quarantine
    movement = row.unit.movements.first()
    visit = make_appointment(owner, person.patient, injector, "2030-12-02 10:00")
    refused(lambda: contact(person, owner).save(), "nobody is contacted in a drill")
    refused(
        lambda: CasePatient.objects.filter(pk=person.pk).update(appointment=visit),
        "nobody is called in for a drill",
    )
    for act in (
        lambda: CaseSpan.objects.filter(case=drill).update(quarantine=quarantine),
        lambda: span(product, "X", "X", case=drill, quarantine=quarantine).save(),
    ):
        refused(act, "nothing is stopped in a drill")
    refused(
        lambda: RecallCase.objects.filter(pk=drill.pk).update(quarantined_at=timezone.now()),
        "recall_drill_stops_nothing",
    )
    now = timezone.now()
    for act in (
        lambda: CaseUnit.objects.filter(pk=row.pk).update(
            movement=movement, pulled_at=now, pulled_by=owner
        ),
        lambda: CaseUnit.objects.create(case=drill, unit=case.units.last().unit, movement=movement),
    ):
        refused(act, "nothing leaves the stock in a drill")
    refused(
        lambda: CaseMailing.objects.create(case=drill, mailing=mailing(owner)),
        "no mailing leaves in a drill",
    )
    CaseMailing.objects.create(case=drill, mailing=mailing(owner, is_rehearsal=True))
    assert Appointment.objects.count() == 1


def test_a_drill_stays_a_drill_and_a_case_in_the_books(drill, case):
    refused(
        lambda: RecallCase.objects.filter(pk=drill.pk).update(is_drill=False),
        "a drill stays a drill",
    )
    cases = RecallCase.objects.filter(pk=case.pk)
    refused(lambda: cases._raw_delete(cases.db), "a recall case stays in the books")
    refused(
        lambda: CasePatient.objects.filter(case=case)._raw_delete(case._state.db),
        "nobody is taken off the call list",
    )


def test_contacts_and_notices_only_grow(owner, case):
    person = case.people.first()
    contact(person, owner).save()
    refused(lambda: CaseContact.objects.update(outcome="no_answer"), "append-only")
    refused(lambda: CaseContact.objects.all()._raw_delete(case._state.db), "append-only")


@pytest.mark.parametrize(
    ("fields", "name"),
    [
        ({"pulled_at": timezone.now()}, "recall_unit_pulled_by_somebody"),
        ({"not_found": "Fridge", "pulled": True}, "recall_unit_apart_or_not_found"),
        ({"left": True}, "recall_unit_leaves_from_apart"),
    ],
)
def test_a_unit_is_apart_or_was_not_there_and_leaves_from_apart(owner, case, fields, name):
    row = case.units.select_related("unit").first()
    values = {key: value for key, value in fields.items() if key not in {"pulled", "left"}}
    if fields.get("pulled"):
        values |= {"pulled_at": timezone.now(), "pulled_by": owner}
    if fields.get("left"):
        values |= {"movement": row.unit.movements.first()}
    refused(lambda: CaseUnit.objects.filter(pk=row.pk).update(**values), name)


@pytest.mark.parametrize(
    ("fields", "name"),
    [
        ({"recall_class": "4"}, "recall_class_is_known"),
        ({"level": "B"}, "recall_level_whole"),
        ({"level": "A", "level_percent": 50}, "recall_level_whole"),
        ({"list_at": timezone.now()}, "recall_list_by_somebody"),
        ({"closed_at": timezone.now()}, "recall_closed_by_somebody"),
        ({"received_at": timezone.now() + timedelta(days=9)}, "recall_received_before_opened"),
    ],
)
def test_a_case_says_what_it_must(case, fields, name):
    refused(lambda: RecallCase.objects.filter(pk=case.pk).update(**fields), name)


def test_nothing_is_named_and_nobody_listed_twice(owner, case, product):
    again = CaseSpan(case=case, product=product, lot_first="LOT42", lot_last="LOT42")
    once = "UNIQUE|unique|recall_span_once"
    refused(again.save, once)
    person = case.people.first()
    refused(
        lambda: CasePatient.objects.create(
            case=case, patient=person.patient, added_at=timezone.now()
        ),
        "UNIQUE|recall_patient_once",
    )
    unit = case.units.first().unit
    refused(lambda: CaseUnit.objects.create(case=case, unit=unit), "UNIQUE|recall_unit_once")
    refused(lambda: span(product, "HALF", "", case=case).save(), "recall_span_lots_whole")
    refused(
        lambda: span(product, "", "", serial_first="1", case=case).save(),
        "recall_span_serials_whole",
    )
