"""The search above every page: what it shows to whom, and what it never writes into an address."""

import re
from datetime import UTC, datetime

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.factories import make_appointment, make_patient, make_product, make_units

pytestmark = pytest.mark.django_db
LIVE, PAGE = reverse("search-live"), reverse("search")


def live(client, typed: str) -> str:
    return client.post(LIVE, {"q": typed}).content.decode()


def test_hits_lead_to_the_patient_and_are_counted_aloud(signed_in, desk, patient):
    html = live(signed_in(desk), "ann")
    assert re.findall(r'role="option"[^>]*href="([^"]+)"', html) == [
        reverse("patient-detail", args=[patient.pk])
    ]
    assert 'data-said="1 found. Press Enter to open it."' in html


def test_a_name_spelt_nearly_so_says_that_it_is(signed_in, desk, patient):
    html = live(signed_in(desk), "exampel")
    assert "Patients spelt nearly so" in html
    assert "Nobody is spelt so; these are nearly." in html


def test_nothing_typed_shows_nothing_and_nothing_found_says_what_to_do(signed_in, desk):
    client = signed_in(desk)
    assert client.post(LIVE, {"q": " "}).content == b""
    html = live(client, "nobody")
    assert "Nothing found" in html
    assert reverse("patient-create") in html


def test_a_time_without_a_visit_leads_to_its_day_and_to_booking(signed_in, desk):
    with time_machine.travel(datetime(2026, 11, 30, 9, tzinfo=UTC), tick=False):
        html = live(signed_in(desk), "friday 10:30")
    assert 'data-said="No visit on Friday 4 December at 10:30."' in html
    assert re.findall(r'<a [^>]*href="([^"]+)"', html) == [
        "/diary/?day=2026-12-04", "/appointments/new/?day=2026-12-04&amp;start=10:30",
    ]  # fmt: skip


def test_who_has_no_visit_then_is_shown_with_that_said(signed_in, desk, injector, patient):
    """Ann is expected on Monday; asked about is Tuesday."""
    with time_machine.travel(datetime(2026, 11, 30, 9, tzinfo=UTC), tick=False):
        make_appointment(desk, patient, injector, "2026-11-30 15:00")
        client = signed_in(desk)
        html = live(client, "tomorrow ann")
        missed = "No visit of “ann” on Tuesday 1 December."
        assert f'data-said="{missed} 2 found."' in html
        assert html.index(f">{missed}") < html.index("Their next appointments")
        assert "No visit" not in live(client, "today ann")


def test_the_owner_finds_staff_and_pages_by_name(signed_in, owner, injector, desk):
    client = signed_in(owner)
    html = live(client, "ida")
    assert f'href="{reverse("staff-edit", args=[injector.pk])}"' in html
    for typed, name in [("clos", "closure-list"), ("audit", "audit-list"), ("rooms", "room-list")]:
        assert f'href="{reverse(name)}"' in live(client, typed)
    for person in (injector, desk):
        client = signed_in(person)
        assert "/staff/" not in live(client, "ida")
        assert reverse("closure-list") not in live(client, "clos")


def test_lots_are_shown_to_clinical_staff_alone(signed_in, desk, injector, owner):
    make_units(owner, make_product("Harbour gel"), number="ABC123")
    for person, sees in [(owner, True), (injector, True), (desk, False)]:
        client = signed_in(person)
        client.post(PAGE, {"q": "ABC123"})
        pages = live(client, "ABC123"), client.get(f"{PAGE}?found=").content.decode()
        assert [("Harbour gel" in page) for page in pages] == [sees, sees]


def test_what_is_typed_stands_in_no_address(signed_in, desk, patient):
    client = signed_in(desk)
    answer = client.post(PAGE, {"q": "ann example"})
    assert answer.url == f"{PAGE}?found="
    assert "Ann Example" in client.get(answer.url).content.decode()
    assert "Ann Example" not in client.get(PAGE, {"q": "ann"}).content.decode()
    assert client.get(LIVE, {"q": "ann"}).status_code == 405


def test_the_page_shows_more_than_the_box(signed_in, desk):
    for number in range(7):
        make_patient(desk, f"Ann Number{number}")
    client = signed_in(desk)
    html = live(client, "ann")
    assert (html.count("<a id="), "Show all that was found" in html) == (5, True)
    client.post(PAGE, {"q": "ann"})
    html = client.get(f"{PAGE}?found=").content.decode()
    assert (html.count("<a id="), "Show all that was found" in html) == (7, False)


def test_a_search_asks_as_often_for_three_as_for_one(signed_in, owner, desk, injector):
    client, counts = signed_in(owner), []
    for number in range(3):
        visited = make_patient(desk, f"Harbour {number}")
        make_appointment(desk, visited, injector, f"2031-12-04 1{number}:00")
        make_units(owner, make_product(f"Harbour gel {number}"), quantity=1)
        with CaptureQueriesContext(connection) as queries:
            assert live(client, "harbour").count("<a id=") == 3 * (number + 1)
        counts.append(len(queries))
    assert len(set(counts)) == 1


@pytest.mark.parametrize("typed", ["x" * 5000, "<script>alert(1)</script>"])
def test_what_is_no_search_is_survived(signed_in, desk, patient, typed):
    answer = signed_in(desk).post(PAGE, {"q": typed}, follow=True)
    assert answer.status_code == 200
    assert "<script>alert" not in answer.content.decode()


def test_a_stranger_finds_nobody(client, patient):
    for answer in (client.post(LIVE, {"q": "ann"}), client.post(PAGE, {"q": "ann"}, follow=True)):
        assert "Ann Example" not in answer.content.decode()
