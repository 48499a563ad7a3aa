"""`manage.py parse_scan`, for people and for programs."""

import io
import json
import os
import subprocess
import sys

import pytest
import time_machine
from django.conf import settings
from django.core.management import call_command

from tests.scan_cases import READ, REFUSED, TODAY, G, P


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(TODAY, tick=False):
        yield


def parse_scan(*arguments: str) -> str:
    out = io.StringIO()
    call_command("parse_scan", *arguments, stdout=out)
    return out.getvalue()


def test_json_holds_six_values():
    answer = json.loads(parse_scan(f"{P}1727113010LOT42{G}21SER9", "--format", "json"))
    assert answer == {
        "gtin": "09521234543213",
        "lot": "LOT42",
        "expiry": "2027-11-30",
        "serial": "SER9",
        "warnings": [],
        "error": None,
    }


def test_what_the_code_does_not_hold_is_null():
    answer = json.loads(parse_scan("9521234543213", "--format=json"))
    warnings = answer.pop("warnings")
    assert answer == {
        "gtin": "09521234543213",
        "lot": None,
        "expiry": None,
        "serial": None,
        "error": None,
    }
    assert len(warnings) == 1


@pytest.mark.parametrize("case", [*READ[:3], *REFUSED[:8]], ids=lambda case: case.why)
def test_each_case_is_written_as_json(case):
    answer = json.loads(parse_scan("--format=json", "--", case.text))
    assert list(answer) == ["gtin", "lot", "expiry", "serial", "warnings", "error"]
    assert (answer["error"] is None) is (case in READ)


def test_table_shows_what_there_is():
    assert parse_scan(f"{P}1727020010LOT42").splitlines() == [
        "Product number  09521234543213",
        "Lot             LOT42",
        "Expiry          28 February 2027",
        "Warning         The code gives the month of expiry only; its last day, 28 February 2027, "
        "was taken: compare it with the box.",
    ]


def test_table_says_why_a_code_is_refused():
    (line,) = parse_scan(f"{P}10").splitlines()
    assert line.startswith("Refused         The lot number (10) is empty")


@pytest.mark.parametrize(("code", "status"), [(P, 0), ("LOT42", 1), ("+A123BJC5D6E71G", 1)])
def test_shell_is_told_whether_the_code_was_read_and_no_database_is_asked(code, status, tmp_path):
    ended = subprocess.run(
        [sys.executable, settings.BASE_DIR / "manage.py", "parse_scan", code, "--format", "json"],
        env=os.environ | {"DATABASE_URL": f"sqlite:///{tmp_path / 'none.sqlite3'}"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert ended.returncode == status, ended.stderr
    assert (json.loads(ended.stdout)["error"] is None) is (status == 0)
    assert list(tmp_path.iterdir()) == []
