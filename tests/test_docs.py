"""What the README promises is there: settings, commands, targets and pictures."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text()
GUIDE = (ROOT / "DEVELOPERS.md").read_text()
PLACES = re.compile(r"`((?:clinic|planning|records|static|tests)/[\w/.]+)`")
PAGE = (ROOT / "docs" / "never-lost.md").read_text()
TESTS_NAMED = re.findall(r"`(tests/[\w/.]+)::(test_\w+)`", PAGE)
MAKEFILE = (ROOT / "Makefile").read_text()
PICTURES = re.findall(r"!\[[^\]]+\]\(([^)]+)\)", README)


def settings_named() -> set[str]:
    """Variables of the environment that the tool, its demo and its tests read."""
    scripts = [(ROOT / "scripts" / name).read_text() for name in ("demo", "serve")]
    found = set(re.findall(r"\$\{([A-Z_]+):-", " ".join(scripts)))
    found |= set(re.findall(r"^([A-Z]+) \?=", MAKEFILE, re.MULTILINE))
    ways = r"environ\.get\(|environ\[|env_bool\(|secret_text\(|strong_key\("
    read = re.compile(rf"""(?:{ways})\s*"([A-Z_]+)\"""")
    for path in (
        "clinic/settings.py", "deploy/gunicorn.py", "tests/postgres.py",
        "tests/browser/conftest.py",
    ):  # fmt: skip
        found |= set(read.findall((ROOT / path).read_text()))
    return found - {"PATH", "PROMETHEUS_MULTIPROC_DIR"}  # handed on as they are


def own_commands() -> set[str]:
    files = ROOT.glob("*/management/commands/[a-z]*.py")
    return {file.stem for file in files}


def test_settings_are_found_at_all():
    assert {"DATABASE_URL", "CLINIC_DEBUG", "PORT", "BIND"} <= settings_named()


@pytest.mark.parametrize("name", sorted(settings_named()))
def test_every_setting_is_in_the_table(name):
    rows = [line for line in README.splitlines() if line.startswith("| `")]
    assert any(f"`{name}`" in row.split("|")[1] for row in rows), f"{name} is not explained"


def test_table_names_no_setting_that_is_not_read():
    rows = [line.split("|")[1] for line in README.splitlines() if line.startswith("| `")]
    assert set(re.findall(r"`([A-Z_]+)`", " ".join(rows))) == settings_named()


def test_commands_are_those_there_are():
    assert set(re.findall(r"manage\.py ([a-z_]+)", README)) == own_commands()


def test_make_targets_are_there():
    named = set(re.findall(r"(?:^    |`)make ([a-z][a-z-]+)", README, re.MULTILINE))
    assert {"demo", "test"} <= named
    assert named <= set(re.findall(r"^([a-z-]+):", MAKEFILE, re.MULTILINE))


@pytest.mark.parametrize("picture", PICTURES)
def test_picture_is_there_and_light(picture):
    assert (ROOT / picture).stat().st_size <= 250_000


def test_every_picture_of_the_tour_is_shown():
    kept = {f"docs/tour/{file.name}" for file in (ROOT / "docs" / "tour").glob("*.png")}
    assert kept == set(PICTURES)


@pytest.mark.parametrize("path", sorted(set(PLACES.findall(GUIDE + PAGE))))
def test_what_the_contributor_guide_names_is_there(path):
    assert (ROOT / path).exists()


@pytest.mark.parametrize(("path", "name"), sorted(set(TESTS_NAMED)))
def test_outcome_is_shown_by_a_test_that_exists(path, name):
    assert f"\ndef {name}(" in (ROOT / path).read_text()


def test_every_outcome_names_a_test():
    rows = [line for line in PAGE.splitlines() if line.startswith("| ") and "::" not in line]
    assert [row for row in rows if "what happens" not in row] == []
    assert len(TESTS_NAMED) > 30
    assert "docs/never-lost.md" in GUIDE
