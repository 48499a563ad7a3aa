"""Every page, every role: a page is open to exactly those the table names."""

import pytest
from django.db import transaction

from clinic.access.rules import PUBLIC
from tests.access_table import TABLE
from tests.samples import ROUTES, address, make_people, make_samples


@pytest.fixture(scope="module")
def people_and_samples(django_db_setup, django_db_blocker):
    """Made once for the whole table; what a page changes is taken back after it."""
    with django_db_blocker.unblock(), transaction.atomic():
        people = make_people()
        yield people, make_samples(people)
        transaction.set_rollback(True)


def test_every_route_has_a_name_and_a_rule():
    assert {route.name for route in ROUTES} == set(TABLE)


@pytest.mark.parametrize("route", ROUTES, ids=lambda route: route.name)
def test_view_names_the_roles_of_the_table(route):
    allowed = getattr(route.callback, "allowed_roles", frozenset())
    assert allowed == (frozenset(TABLE[route.name].roles) or PUBLIC)


@pytest.mark.django_db
@pytest.mark.parametrize("route", ROUTES, ids=lambda route: route.name)
def test_page_is_open_to_exactly_these_roles(route, people_and_samples, client):
    people, samples = people_and_samples
    url = address(route.name, samples)
    rule = TABLE[route.name]
    if rule.roles:
        assert client.get(url).status_code in {302, 401}, "open without signing in"
    for role, person in people.items():
        client.force_login(person)
        status = client.get(url).status_code
        if role in rule.roles or not rule.roles:
            assert status not in {401, 403, 404}, f"{role} gets {status}"
            assert status < 500, f"{role} gets {status}"
        else:
            assert status == 403, f"{role} gets {status}"
