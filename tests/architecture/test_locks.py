"""The lock files install the same files everywhere and lead to no host of ours."""

import re
from pathlib import Path

import pytest

FOLDER = Path(__file__).resolve().parents[2] / "requirements"
LOCKS = ["runtime.txt", "dev.txt"]


def locked(name: str) -> dict[str, str]:
    """Version by package, as the lock has it."""
    text = (FOLDER / name).read_text()
    return dict(re.findall(r"^([a-z0-9-]+)(?:\[[^]]*\])?==([^ ;\\]+)", text, re.MULTILINE))


@pytest.mark.parametrize("name", LOCKS)
def test_every_package_is_pinned_by_hash(name):
    text = (FOLDER / name).read_text().replace("\\\n", " ")
    packages = [line for line in text.splitlines() if line and not line.lstrip().startswith("#")]
    assert len(packages) == len(locked(name)) > 10
    assert [line for line in packages if "--hash=sha256:" not in line] == []


@pytest.mark.parametrize("name", ["runtime.in", "dev.in", *LOCKS])
def test_no_host_is_named(name):
    text = (FOLDER / name).read_text()
    assert re.findall(r"\S*://\S*|--(?:extra-)?index\S*|--find-links\S*", text) == []


def test_tests_run_with_the_versions_that_are_served():
    runtime, dev = locked("runtime.txt"), locked("dev.txt")
    assert {name: dev.get(name) for name in runtime} == runtime


@pytest.mark.parametrize("name", LOCKS)
def test_the_lock_holds_what_was_asked_for(name):
    asked = (FOLDER / name.replace(".txt", ".in")).read_text().lower()
    names = re.findall(r"^([a-z][a-z0-9-]*)", asked, re.MULTILINE)
    assert set(names) - set(locked(name)) == set()
