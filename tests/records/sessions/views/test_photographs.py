"""A session's page shows its photographs with the points on them."""

import pytest
from django.urls import reverse

from records.sessions.services.pictures import calibrate, drop_picture
from records.sessions.services.signing import sign_session
from tests.factories import (
    make_patient,
    make_picture,
    make_point,
    make_product,
    make_session_with_unit,
    make_units,
)  # fmt: skip


@pytest.fixture
def unit(injector):
    return make_units(injector, make_product())[0]


@pytest.fixture
def session(injector, unit):
    return make_session_with_unit(injector, make_patient(injector), unit)


def picture_on_page(client, session):
    answer = client.get(reverse("session-detail", args=[session.pk]))
    assert answer.status_code == 200
    return answer.context["pictures"], answer.content.decode()


def test_a_signed_session_shows_photograph_and_points(signed_in, injector, session, unit):
    picture = make_picture(session)
    # 100 px are 50 mm: the picture of 800 x 600 px shows 400 x 300 mm.
    numbers = {"x1": 0, "y1": 0, "x2": 100, "y2": 0, "distance_dmm": 500}
    calibrate(picture=picture, actor=injector, **numbers)
    place = {"view": "picture", "x_dmm": 1000, "y_dmm": 1500, "region": "temple", "side": "left"}
    make_point(session, unit)
    point = make_point(session, unit, picture_id=picture.pk, **place)
    sign_session(session=session, remainders={unit.pk: "wasted"}, actor=injector)
    (chart,), html = picture_on_page(signed_in(injector), session)
    assert (chart.width, chart.height, chart.count) == (400, 300, 1)
    assert str(point.key) in chart.marks
    assert f'href="{reverse("charting-picture", args=[picture.key])}"' in html


def test_removed_photographs_are_not_shown(signed_in, owner, injector, session):
    drop_picture(picture=make_picture(session), actor=injector)
    shown, html = picture_on_page(signed_in(owner), session)
    assert shown == []
    assert "<h2>Photographs" not in html


def test_one_without_scale_is_shown_without_points(signed_in, owner, session):
    make_picture(session)
    (chart,), _ = picture_on_page(signed_in(owner), session)
    assert (chart.width, chart.height, chart.count) == (800, 600, 0)
