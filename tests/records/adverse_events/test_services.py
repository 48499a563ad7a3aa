from datetime import date

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from clinic.audit.models import AuditEvent
from records.adverse_events.enums import EventOutcome, Grade
from records.adverse_events.errors import EventClosed, EventOpen, OutcomeMissing, ReasonMissing
from records.adverse_events.models import AdverseEvent
from records.adverse_events.queries import listed_events
from records.adverse_events.services import change_event, close_event, reopen_event
from tests.factories import make_event, make_patient, refreshed


def test_an_event_is_open_and_says_who_recorded_it(event, injector):
    event = refreshed(event)
    assert (event.recorded_by, event.is_closed, event.outcome) == (injector, False, "ongoing")
    assert list(AdverseEvent.objects.still_open()) == [event]
    row = AuditEvent.objects.first()
    assert (row.action, row.patient_id) == ("adverse_event.recorded", event.patient_id)
    assert '"grade":"1"' in row.data


def test_a_session_of_somebody_else_is_refused(event, desk, injector):
    with pytest.raises(ValueError, match="another patient"):
        make_event(injector, make_patient(desk, "Bea Example"), session=event.session)


def test_what_is_known_later_is_written_with_what_stood_there_before(event, owner):
    event.actions, event.grade = "Massage, seen after a week.", Grade.MODERATE
    change_event(event=event, fields=["actions", "grade"], actor=owner)
    assert refreshed(event).actions == "Massage, seen after a week."
    row = AuditEvent.objects.first()
    assert (row.action, row.actor) == ("adverse_event.changed", owner)
    assert '"before":{"actions":"","grade":"1"}' in row.data


def test_only_the_named_fields_are_written(event, owner):
    AdverseEvent.objects.filter(pk=event.pk).update(actions="Written by a colleague meanwhile.")
    event.grade = Grade.SEVERE
    change_event(event=event, fields=["grade"], actor=owner)
    assert refreshed(event).actions == "Written by a colleague meanwhile."


def test_nothing_new_leaves_no_row_in_the_trail(event, owner):
    count = AuditEvent.objects.count()
    change_event(event=event, fields=["actions"], actor=owner)
    assert AuditEvent.objects.count() == count


def test_closing_says_how_it_ended_and_ends_every_change(event, owner):
    close_event(event=event, outcome=EventOutcome.RECOVERED, actor=owner)
    event = refreshed(event)
    assert (event.outcome, event.closed_by, event.is_closed) == ("recovered", owner, True)
    assert not AdverseEvent.objects.still_open().exists()
    for act in (
        lambda: change_event(event=event, fields=["grade"], actor=owner),
        lambda: close_event(event=event, outcome=EventOutcome.UNKNOWN, actor=owner),
    ):
        with pytest.raises(EventClosed):
            act()


@pytest.mark.parametrize("outcome", [EventOutcome.ONGOING, EventOutcome.RECOVERING])
def test_what_still_goes_on_is_not_closed(event, owner, outcome):
    with pytest.raises(OutcomeMissing):
        close_event(event=event, outcome=outcome, actor=owner)
    assert not refreshed(event).is_closed


def test_a_closed_event_is_opened_again_for_a_reason(event, owner):
    with pytest.raises(EventOpen):
        reopen_event(event=event, reason="It came back", actor=owner)
    close_event(event=event, outcome=EventOutcome.RECOVERED, actor=owner)
    with pytest.raises(ReasonMissing):
        reopen_event(event=event, reason="  ", actor=owner)
    reopen_event(event=event, reason="It came back", actor=owner)
    assert not refreshed(event).is_closed
    assert '"reason":"It came back"' in AuditEvent.objects.first().data


def test_the_open_ones_are_listed_first_and_each_part_latest_first(event, ann, injector, owner):
    def made(day, *, closed=False):
        new = make_event(injector, ann, onset_on=date(2026, 5, day))
        if closed:
            close_event(event=new, outcome=EventOutcome.RECOVERED, actor=owner)
        return new

    old, shut, shut_last, new = made(1), made(9, closed=True), made(2, closed=True), made(8)
    assert list(listed_events()) == [new, old, event, shut_last, shut]


@pytest.mark.parametrize(
    ("fields", "rule"),
    [
        ({"grade": "6"}, "adverse_event_grade_is_known"),
        ({"outcome": "fine"}, "adverse_event_outcome_is_known"),
        ({"signs": ""}, "adverse_event_has_signs"),
        ({"closed_at": timezone.now()}, "adverse_event_closed_with_outcome"),
        (
            {"closed_at": timezone.now(), "closed_by_id": 1, "outcome": "ongoing"},
            "adverse_event_closed_with_outcome",
        ),
    ],
)
def test_the_database_refuses_what_cannot_be(event, fields, rule):
    with pytest.raises(IntegrityError, match=rule), transaction.atomic():
        AdverseEvent.objects.filter(pk=event.pk).update(**fields)
