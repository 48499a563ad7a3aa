"""Every page, every role: a page is open to exactly those the table names."""

from datetime import date

import pytest
from django.urls import get_resolver, reverse
from django.urls.resolvers import URLPattern

from clinic.staff.access import PUBLIC
from clinic.staff.enums import Role
from tests.access_table import TABLE
from tests.factories import (
    make_alert,
    make_appointment,
    make_closure,
    make_patient,
    make_point,
    make_product,
    make_review,
    make_session_with_unit,
    make_units,
    make_user,
)


def all_routes(patterns) -> list[URLPattern]:
    found = []
    for pattern in patterns:
        if isinstance(pattern, URLPattern):
            found.append(pattern)
        else:
            found.extend(all_routes(pattern.url_patterns))
    return found


ROUTES = all_routes(get_resolver().url_patterns)


@pytest.fixture
def people(db):
    return {
        Role.FRONT_DESK: make_user("desk"),
        Role.INJECTOR: make_user("injector"),
        Role.OWNER: make_user("owner"),
    }


@pytest.fixture
def samples(people):
    """One of each thing a route's arguments can name."""
    injector, owner = people[Role.INJECTOR], people[Role.OWNER]
    patient = make_patient(people[Role.FRONT_DESK])
    product = make_product()
    unit, spare = make_units(owner, product, quantity=2)
    session = make_session_with_unit(injector, patient, unit)
    point = make_point(session, unit)
    appointment = make_appointment(injector, patient, injector, "2026-12-01 10:00")
    review = make_review(injector, patient, date(2026, 12, 1))
    return {
        "patient": patient,
        "appointment": appointment,
        "review": review,
        "alert": make_alert(people[Role.FRONT_DESK], patient),
        "product": product,
        "unit": unit,
        "spare": spare,
        "lot": unit.lot,
        "session": session,
        "point": point,
        "user": injector,
        "closure": make_closure(owner),
    }


def address(route: URLPattern, samples: dict) -> str:
    kwargs = {}
    for name, path in TABLE[route.name].args.items():
        sample, attribute = path.split(".")
        kwargs[name] = getattr(samples[sample], attribute)
    return reverse(route.name, kwargs=kwargs)


def test_every_route_has_a_name_and_a_rule():
    assert {route.name for route in ROUTES} == set(TABLE)


@pytest.mark.parametrize("route", ROUTES, ids=lambda route: route.name)
def test_view_names_the_roles_of_the_table(route):
    allowed = getattr(route.callback, "allowed_roles", frozenset())
    assert allowed == (frozenset(TABLE[route.name].roles) or PUBLIC)


@pytest.mark.parametrize("route", ROUTES, ids=lambda route: route.name)
def test_page_is_open_to_exactly_these_roles(route, people, samples, client):
    url = address(route, samples)
    rule = TABLE[route.name]
    if rule.roles:
        assert client.get(url).status_code in {302, 401}, "open without signing in"
    for role, person in people.items():
        client.force_login(person)
        status = client.get(url).status_code
        if role in rule.roles or not rule.roles:
            assert status not in {401, 403, 404} and status < 500, f"{role} gets {status}"
        else:
            assert status == 403, f"{role} gets {status}"
