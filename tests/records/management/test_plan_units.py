"""`plan_units` on the command line."""

import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from tests.planning.allocation.test_document import example


@pytest.fixture
def plan(tmp_path):
    path = tmp_path / "plan.json"
    path.write_text(json.dumps(example()), encoding="utf-8")
    return path


def run(path, *options: str) -> str:
    out = StringIO()
    call_command("plan_units", str(path), *options, stdout=out)
    return out.getvalue()


def test_as_json(plan):
    shown = json.loads(run(plan, "--format", "json"))
    assert shown["cost"] == "285.00"
    assert {row["line"] for row in shown["draws"]} == {"cheek, left", "cheek, right", "chin"}


def test_as_a_table(plan):
    shown = run(plan)
    assert "Open 1 of firm 1 mL: HA filler firm, LF2601" in shown
    assert "Waste of HA filler firm: 0.1 mL" in shown


def test_a_shelf_that_does_not_hold_enough_ends_with_1(plan):
    plan.write_text(json.dumps(example() | {"shelf": []}), encoding="utf-8")
    with pytest.raises(CommandError, match="does not hold enough") as refusal:
        run(plan)
    assert refusal.value.returncode == 1


@pytest.mark.parametrize(
    ("content", "words"),
    [("", "no JSON"), ("{", "no JSON"), ("[" * 100_000, "no JSON"), ("\ufeff[]", "no JSON"),
     ("9" * 5_000, "no JSON"),
     ("[]", "the file: an object"), (b"\xff\xfe", "cannot be read")],
)  # fmt: skip
def test_a_file_that_is_no_plan_ends_with_2(plan, content, words):
    plan.write_bytes(content if isinstance(content, bytes) else content.encode())
    with pytest.raises(CommandError, match=words) as refusal:
        run(plan)
    assert refusal.value.returncode == 2


def test_a_file_that_is_not_there_ends_with_2(tmp_path):
    with pytest.raises(CommandError, match="cannot be read") as refusal:
        run(tmp_path / "none.json")
    assert refusal.value.returncode == 2
