"""The style page: the parts as the owner sees them."""

import re
from pathlib import Path

import pytest
from django.urls import reverse

from clinic.style.views import STATES
from tests.factories import make_user

ROOT = Path(__file__).resolve().parents[3]


@pytest.fixture
def shown(client, db) -> str:
    client.force_login(make_user("owner"))
    answer = client.get(reverse("style-index"))
    assert answer.status_code == 200
    return answer.content.decode()


def test_it_shows_every_badge_that_has_a_style(shown):
    styled = set(re.findall(r"\.badge--([a-z-]+)", (ROOT / "static/css/badges.css").read_text()))
    assert styled == set(STATES)
    assert set(re.findall(r"badge--([a-z-]+)", shown)) == styled


def test_the_frame_names_the_person_and_the_way_out(shown):
    assert "<bdi>Olga Owner</bdi>" in shown
    assert "Practice owner" in shown
    assert f'<form method="post" action="{reverse("staff-logout")}">' in shown


def test_no_id_stands_twice(shown):
    ids = re.findall(r'\sid="([^"]+)"', shown)
    assert sorted({name for name in ids if ids.count(name) > 1}) == []
