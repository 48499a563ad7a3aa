"""Whoever can be booked reads their own hours and absences."""

from datetime import UTC, datetime

import pytest
from django.urls import reverse

from clinic.sites.models import Site
from tests.factories import make_absence, make_user, make_working_time

pytestmark = pytest.mark.django_db


def away(person, note: str):
    return make_absence(
        person=person, note=note, starts_at=datetime(2031, 3, 3, 9, tzinfo=UTC),
        ends_at=datetime(2031, 3, 4, tzinfo=UTC),
    )  # fmt: skip


def test_an_injector_reads_own_hours_and_absences_and_nobody_else_s(signed_in, injector):
    client, address = signed_in(injector), reverse("hours-own")
    assert "No hours set" in client.get(address).content.decode()
    make_working_time(injector, Site.objects.create(name="Harbour"))
    away(injector, "Walking")
    away(make_user("lea", is_injector=True), "Sailing")
    page = client.get(address).content.decode()
    for words in ("Harbour", "Leave", "Walking", "Mon 3 Mar 2031, 09:00"):
        assert words in page
    assert "Sailing" not in page
    assert f'href="{address}"' in client.get(reverse("diary-week")).content.decode()
