"""Telling people: what is noted stays, and a drill tells nobody."""

from datetime import timedelta

import pytest
from django.utils import timezone

from clinic.audit.models import AuditEvent
from records.appointments.errors import TimeTaken
from records.appointments.models import Appointment
from records.patients.enums import Channel
from records.recalls.enums import ContactOutcome, Reach
from records.recalls.errors import OnlyADrill, RecallError
from records.recalls.models import CasePatient
from records.recalls.services.people import attach_event, book_for, note_contact
from tests.factories import make_appointment, make_event, make_patient, refreshed
from tests.records.recalls.cases import person_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def ann(case, treated):
    return person_of(case, treated[0])


def told(person, outcome: ContactOutcome, actor, channel=Channel.PHONE, **fields):
    return note_contact(person=person, channel=channel, outcome=outcome, actor=actor, **fields)


def standing(reach: Reach) -> list[str]:
    people = CasePatient.objects.standing(reach)
    return list(people.values_list("patient__full_name", flat=True))


def test_an_attempt_says_who_when_and_what_came_of_it(owner, ann):
    contact = told(ann, ContactOutcome.NO_ANSWER, owner, note=" Rang twice ")
    assert (contact.by, contact.note) == (owner, "Rang twice")
    assert timezone.now() - contact.at < timedelta(minutes=1)
    event = AuditEvent.objects.filter(action="recall.attempt_noted").get()
    assert event.patient_id == ann.patient_id
    assert '"outcome":"No answer"' in event.data


@pytest.mark.parametrize(
    ("outcomes", "reach"),
    [
        ([], Reach.TO_CONTACT),
        ([ContactOutcome.NO_ANSWER, ContactOutcome.MESSAGE_LEFT], Reach.TRIED),
        ([ContactOutcome.WRONG_DETAILS], Reach.TRIED),
        ([ContactOutcome.INFORMED, ContactOutcome.NO_ANSWER], Reach.REACHED),
        ([ContactOutcome.DECLINED], Reach.REACHED),
    ],
)
def test_how_far_somebody_has_got_follows_from_the_attempts(owner, ann, outcomes, reach):
    for outcome in outcomes:
        told(ann, outcome, owner)
    for each in Reach:
        assert ("Ann Example" in standing(each)) == (each is reach)


@pytest.mark.parametrize(
    ("channel", "outcome"),
    [
        (Channel.PHONE, ContactOutcome.CAME_BACK),
        (Channel.PHONE, ContactOutcome.SENT),
        (Channel.LETTER, ContactOutcome.NO_ANSWER),
        (Channel.SMS, ContactOutcome.MESSAGE_LEFT),
    ],
)
def test_an_outcome_that_the_channel_does_not_have_is_refused(owner, ann, channel, outcome):
    with pytest.raises(RecallError, match="does not go with"):
        told(ann, outcome, owner, channel)


def test_an_attempt_can_be_noted_later_but_not_ahead_nor_before_the_notice(owner, ann, case):
    at = case.received_at + timedelta(minutes=1)
    assert told(ann, ContactOutcome.INFORMED, owner, at=at).at == at
    for wrong in (timezone.now() + timedelta(hours=1), case.received_at - timedelta(seconds=1)):
        with pytest.raises(RecallError, match="between the coming of the notice and now"):
            told(ann, ContactOutcome.INFORMED, owner, at=wrong)


def test_nobody_is_contacted_or_called_in_during_a_drill(owner, drill, treated, injector):
    person = person_of(drill, treated[0])
    with pytest.raises(OnlyADrill, match="D0001 is a drill: nobody is contacted"):
        told(person, ContactOutcome.INFORMED, owner)
    with pytest.raises(OnlyADrill, match="nobody is called in"):
        book_for(person=person, appointment=visit(injector), actor=owner)
    assert not Appointment.objects.exists()


def visit(injector, hour: int = 10) -> Appointment:
    day = timezone.localtime() + timedelta(days=3)
    starts_at = day.replace(hour=hour, minute=0, second=0, microsecond=0)
    return Appointment(practitioner=injector, kind="review", starts_at=starts_at, minutes=30)


def test_an_appointment_is_booked_with_the_case(owner, ann, injector):
    appointment = book_for(person=ann, appointment=visit(injector), actor=owner)
    assert (refreshed(ann).appointment, appointment.patient_id) == (appointment, ann.patient_id)
    with pytest.raises(RecallError, match="Cancel that one first"):
        book_for(person=ann, appointment=visit(injector, 12), actor=owner)
    assert Appointment.objects.count() == 1


def test_a_time_that_is_taken_books_nothing(owner, ann, injector, desk):
    taken = visit(injector)
    other = make_patient(desk, "Cleo Other")
    make_appointment(desk, other, injector, f"{taken.starts_at:%Y-%m-%d} 10:15")
    with pytest.raises(TimeTaken):
        book_for(person=ann, appointment=visit(injector), actor=owner)
    assert refreshed(ann).appointment is None


def test_an_adverse_event_is_counted_with_the_case_once(owner, case, treated, desk):
    event = make_event(owner, treated[0])
    attach_event(case=case, event=event, actor=owner)
    attach_event(case=case, event=event, actor=owner)
    assert case.events.get().event == event
    assert AuditEvent.objects.filter(action="recall.event_found").count() == 1
    stranger = make_event(owner, make_patient(desk, "Cleo Other"))
    with pytest.raises(RecallError, match="not on the call list"):
        attach_event(case=case, event=stranger, actor=owner)
