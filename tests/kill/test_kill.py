"""A short run of `make kill`, and one on something broken, which must fail."""

import pytest

from tests.kill.run import AFTER, run

pytestmark = pytest.mark.django_db(transaction=True)


def test_each_message_goes_once_however_often_the_worker_is_killed(tmp_path, settings):
    report = run(tmp_path, settings, seed=1, kills=8, visits=8)
    assert report.problems == [], report.summary
    assert sum(report.kills.values()) == 8
    assert report.states["sent"] >= 8


def test_run_on_something_broken_finds_it(tmp_path, settings):
    report = run(tmp_path, settings, seed=1, kills=3, visits=3, ways=[AFTER], spoil="forget")
    assert any("was sent 2 times" in problem for problem in report.problems), report.summary
