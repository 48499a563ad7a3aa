"""What the patient's calendar is told, and when it counts as news."""

import threading
from datetime import UTC, datetime, timedelta
from email import message_from_bytes, policy

import pytest
import vobject
from django.core.mail import EmailMessage
from django.db import IntegrityError, connection, transaction

from clinic.audit.models import AuditEvent
from clinic.policy.models import ClinicPolicy
from clinic.sites.models import Site
from planning.calendar_files import Method
from records.appointments.enums import AppointmentState
from records.appointments.services.states import set_state
from records.calendars.errors import CannotInvite
from records.calendars.models import CalendarEntry
from records.calendars.services.entries import attachment_for, invitation
from tests.factories import make_appointment, make_patient


@pytest.fixture
def clinic(db):
    return ClinicPolicy.objects.create(
        name="Larkstone Łódź", email="desk@clinic.example", phone="01632 960001",
        address="1 Sample Street\nLarkstone",
    )  # fmt: skip


@pytest.fixture
def visit(clinic, desk, injector):
    patient = make_patient(desk, "Zenobia Unmistakable", email="zenobia@mail.example")
    return make_appointment(
        desk, patient, injector, "2026-12-01 10:00", kind="complication_check", note="Bring keys"
    )


def event_of(content: bytes):
    return vobject.readOne(content.decode()).vevent


def sequence_of(content: bytes) -> int:
    return int(event_of(content).sequence.value)


def test_the_invitation_says_when_and_where_and_nothing_clinical(visit):
    content = invitation(visit, method=Method.REQUEST)
    event = event_of(content)
    assert event.summary.value == "Appointment at Larkstone Łódź"
    assert event.location.value == "Larkstone Łódź, 1 Sample Street, Larkstone"
    assert event.dtstart.value == datetime(2026, 12, 1, 10, tzinfo=UTC)
    assert event.attendee.value == "mailto:zenobia@mail.example"
    assert event.organizer.value == "mailto:desk@clinic.example"
    text = content.decode().replace("\r\n ", "").casefold()
    for secret in ("unmistakable", "complication", "bring keys", f"uid:{visit.pk}\r"):
        assert secret not in text


def test_the_branch_is_named_where_there_is_one(visit):
    visit.site = Site.objects.create(name="Harbour", address="2 Quay\nPorttown")
    visit.save()
    event = event_of(invitation(visit, method=Method.REQUEST))
    assert event.location.value == "Harbour, 2 Quay, Porttown"


def test_telling_it_again_is_the_same_to_the_byte(visit):
    first = invitation(visit, method=Method.REQUEST)
    assert invitation(visit, method=Method.REQUEST) == first
    assert AuditEvent.objects.filter(action="appointment.told_calendar").count() == 1


def test_a_change_of_time_or_place_or_state_is_news_and_a_note_is_not(visit, desk):
    first = event_of(invitation(visit, method=Method.REQUEST))
    visit.note = "Bring glasses"
    visit.save()
    assert sequence_of(invitation(visit, method=Method.REQUEST)) == 0
    visit.starts_at += timedelta(hours=1)
    visit.save()
    assert sequence_of(invitation(visit, method=Method.REQUEST)) == 1
    visit.site = Site.objects.create(name="Harbour")
    visit.save()
    assert sequence_of(invitation(visit, method=Method.REQUEST)) == 2
    set_state(appointment=visit, state=AppointmentState.CANCELLED, actor=desk, reason="Ill")
    content = invitation(visit, method=Method.CANCEL)
    last = event_of(content)
    assert (last.sequence.value, last.status.value) == ("3", "CANCELLED")
    assert last.uid.value == first.uid.value
    assert vobject.readOne(content.decode()).method.value == "CANCEL"


def test_an_e_mail_carries_it_whole(visit):
    message = EmailMessage("Your visit", "Hello", "desk@clinic.example", ["z@mail.example"])
    attachment = attachment_for(visit)
    message.attach(*attachment)
    sent = message_from_bytes(message.message().as_bytes(linesep="\r\n"), policy=policy.default)
    [part] = sent.iter_attachments()
    assert part.get_content_type() == "text/calendar"
    assert part["content-type"].params == {"method": "REQUEST", "charset": "utf-8"}
    assert part.get_filename() == "appointment.ics"
    assert event_of(part.get_payload(decode=True)).summary.value == "Appointment at Larkstone Łódź"


def test_what_no_calendar_heard_of_is_not_taken_out(visit, desk):
    set_state(appointment=visit, state=AppointmentState.CANCELLED, actor=desk, reason="Ill")
    assert attachment_for(visit) is None
    assert not CalendarEntry.objects.exists()


def test_a_cancellation_is_attached_once_it_was_told(visit, desk):
    attachment_for(visit)
    set_state(appointment=visit, state=AppointmentState.CANCELLED, actor=desk, reason="Ill")
    assert "method=CANCEL" in attachment_for(visit).mimetype
    with pytest.raises(CannotInvite):
        invitation(visit, method=Method.REQUEST)


@pytest.mark.parametrize("missing", ["patient", "clinic"])
def test_without_an_address_nobody_is_invited(visit, clinic, missing):
    holder = {"patient": visit.patient, "clinic": clinic}[missing]
    type(holder).objects.filter(pk=holder.pk).update(email="")
    assert attachment_for(visit) is None


@pytest.mark.parametrize("change", [{"sequence": 0}, {"uid": "0" * 32}])
def test_the_database_keeps_number_and_sequence(visit, change):
    invitation(visit, method=Method.REQUEST)
    CalendarEntry.objects.update(sequence=2)
    with pytest.raises(IntegrityError, match="calendar entry"), transaction.atomic():
        CalendarEntry.objects.update(**change)


@pytest.mark.django_db(transaction=True)
def test_two_who_tell_a_moved_visit_at_once_count_one_change(visit):
    invitation(visit, method=Method.REQUEST)
    visit.starts_at += timedelta(hours=1)
    visit.save()
    gate, told = threading.Barrier(4), []

    def tell() -> None:
        try:
            gate.wait(timeout=30)
            told.append(invitation(visit, method=Method.REQUEST))
        finally:
            connection.close()

    threads = [threading.Thread(target=tell) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    assert len(told) == 4
    assert len(set(told)) == 1
    assert CalendarEntry.objects.get().sequence == 1
