"""The page of addresses, and an appointment as a file."""

import pytest
import vobject
from django.urls import reverse

from clinic.audit.models import AuditEvent
from records.calendars.models import CalendarFeed
from records.calendars.services.feeds import make_feed
from tests.factories import make_appointment, make_user


def test_the_owner_sees_everybody_who_sees_patients(signed_in, owner, injector):
    make_user("second", is_injector=True)
    make_feed(person=injector, actor=injector)
    page = signed_in(owner).get(reverse("calendar-list"))
    assert [str(person) for person in page.context["people"]] == ["Ida Injector", "Second"]
    page_text = page.content.decode()
    assert page_text.count("Make an address") == 1
    assert page_text.count('aria-labelledby="renew-') == 1


def test_an_injector_sees_the_own_diary_alone(signed_in, injector):
    make_user("second", is_injector=True)
    page = signed_in(injector).get(reverse("calendar-list"))
    assert [str(person) for person in page.context["people"]] == ["Ida Injector"]


def test_the_address_is_shown_in_the_answer_and_works(signed_in, injector, client):
    page = signed_in(injector).post(reverse("calendar-make", kwargs={"pk": injector.pk}))
    address = page.context["address"]
    assert address.startswith("http://testserver/calendars/feed/")
    assert address in page.content.decode()
    assert 'data-copy="address"' in page.content.decode()
    assert page["Cache-Control"] == "no-store"
    client.logout()
    assert client.get(address).status_code == 200


def test_an_injector_makes_no_address_of_a_colleague(signed_in, injector):
    other = make_user("second", is_injector=True)
    client = signed_in(injector)
    assert client.post(reverse("calendar-make", kwargs={"pk": other.pk})).status_code == 404
    make_feed(person=other, actor=other)
    assert client.post(reverse("calendar-revoke", kwargs={"pk": other.pk})).status_code == 404
    assert CalendarFeed.objects.alive().count() == 1


def test_the_owner_revokes_an_address(signed_in, owner, injector):
    make_feed(person=injector, actor=injector)
    page = signed_in(owner).post(
        reverse("calendar-revoke", kwargs={"pk": injector.pk}), follow=True
    )
    assert "is revoked" in page.content.decode()
    feed = CalendarFeed.objects.get()
    assert (feed.revoked_by, feed.revoked_at is None) == (owner, False)


def test_the_desk_hands_out_an_appointment_as_a_file(signed_in, desk, patient, injector):
    visit = make_appointment(desk, patient, injector, "2026-12-01 10:00")
    url = reverse("calendar-appointment", kwargs={"pk": visit.pk})
    response = signed_in(desk).get(url)
    assert response["Content-Disposition"] == 'attachment; filename="appointment.ics"'
    calendar = vobject.readOne(response.content.decode())
    assert calendar.vevent.status.value == "CONFIRMED"
    assert "attendee" not in calendar.vevent.contents
    assert "Example" not in response.content.decode()
    event = AuditEvent.objects.get(action="appointment.exported")
    assert (event.actor, event.patient_id) == (desk, patient.pk)


@pytest.mark.django_db
def test_an_appointment_that_never_was_has_no_file(signed_in, desk):
    url = reverse("calendar-appointment", kwargs={"pk": 4711})
    assert signed_in(desk).get(url).status_code == 404
