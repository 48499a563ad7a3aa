"""Whoever takes working time away is shown the visits it strands, and ticks once."""

from datetime import date, time

import pytest
from django.urls import reverse

from clinic.audit.models import AuditEvent
from clinic.hours.models import WorkingTime
from clinic.policy.queries import current_policy
from clinic.rooms.models import Room
from clinic.sites.models import Site
from clinic.staff.models import User
from tests.factories import (
    make_appointment,
    make_patient,
    make_room,
    make_working_time,
)
from tests.sent_forms import sent_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def visit(owner, injector):
    """On a Monday at ten, in Room 1, within the hours of the injector."""
    room = make_room()
    make_working_time(injector, room.site, from_on=date(2026, 1, 1))
    make_working_time(injector, room.site, weekday=2, starts=time(13))
    visit = make_appointment(owner, make_patient(owner), injector, "2031-03-03 10:00")
    visit.room = room
    visit.save()
    return visit


def without(*names):
    return lambda sent: {name: value for name, value in sent.items() if name not in names}


def changed(**values):
    return lambda sent: sent | values


def staff(visit):
    return reverse("staff-edit", args=[visit.practitioner_id])


def room(visit):
    return reverse("room-edit", args=[visit.room_id])


def hours(visit):
    monday = WorkingTime.objects.get(weekday=1)
    return reverse("working-time-edit", args=[monday.pk])


def end(visit):
    return reverse("working-time-end", args=[WorkingTime.objects.get(weekday=1).pk])


def copy(visit):
    return reverse("hours-copy", args=[visit.practitioner_id])


def policy(visit):
    return reverse("policy-edit")


def stored() -> list:
    tables = (User, Room, Site, WorkingTime)
    rows = [list(table.objects.order_by("pk").values()) for table in tables]
    return [*rows, current_policy().open_weekdays]


@pytest.mark.parametrize(
    ("address", "change"),
    [
        (staff, without("is_active")),
        (room, without("is_active")),
        (hours, changed(starts="10:15")),
        (end, changed()),
        (copy, changed(weekday="2", to=["1"])),
        (policy, changed(open_weekdays=["2", "3"])),
    ],
)
def test_the_visit_is_shown_and_a_tick_asked_for(signed_in, owner, visit, address, change):
    client, url = signed_in(owner), address(visit)
    page = client.get(url) if address is not end else None
    sent = change(sent_of(page.content.decode()) if page else {})
    before, events = stored(), AuditEvent.objects.count()
    answer = client.post(url, sent)
    text, form = answer.content.decode(), answer.context["form"]
    assert "1 visit is in the way" in text
    assert "Not saved yet: visits are in the way, see below." in text
    assert stored() == before
    assert AuditEvent.objects.count() == events
    assert "Ann Example" in client.get(form.booked.address).content.decode()
    ticked = client.post(url, sent | {"confirmed": form.to_confirm})
    assert ticked.status_code == 302
    assert stored() != before


def test_visits_that_are_not_touched_are_not_asked_about(signed_in, owner, visit):
    """Nor those that had to be moved already."""
    client = signed_in(owner)
    evening = make_appointment(
        owner, make_patient(owner, "Bo"), visit.practitioner, "2031-03-03 20:00"
    )
    sent = sent_of(client.get(hours(visit)).content.decode())
    assert client.post(hours(visit), sent | {"ends": "16:00"}).status_code == 302
    assert evening.practitioner.working_times.filter(ends=time(16)).exists()


def test_the_first_of_many_are_shown_and_all_counted(signed_in, desk, visit):
    client = signed_in(desk)
    named = {"visit": [visit.pk], "of": "30"}
    text = client.get(reverse("to-move-named"), named).content.decode()
    assert "Ann Example" in text
    assert '<span class="num">30</span>' in text
    for asked in ({"visit": "x", "of": "1"}, {}):
        text = client.get(reverse("to-move-named"), asked).content.decode()
        assert "No visit is booked then." in text
