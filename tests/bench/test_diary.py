"""The bench's day must be one that the diary shows."""

import pytest
from django.test import Client

from clinic.staff.models import User
from tests.bench import diary as bench

pytestmark = pytest.mark.django_db


def test_the_day_is_full_and_an_unchanged_one_is_told_so(monkeypatch):
    monkeypatch.setenv("BENCH_SCALE", "small")
    monkeypatch.setattr(bench, "OTHER_DAYS", 1)
    bench.build(bench.VISITS)
    client = Client()
    client.force_login(User.objects.get(username="desk"))
    page = bench.answering(client, f"/diary/?day={bench.DAY}")()
    assert page.content.count(b"data-visit=") == bench.VISITS
    assert page.content.count(b"Alert on the record") == bench.VISITS // 4
    asked = bench.answering(client, f"/diary/?day={bench.DAY}", seen=bench.seen(client))
    assert asked().status_code == 304
