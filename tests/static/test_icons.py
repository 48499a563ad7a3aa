"""An icon that is not in the sprite shows nothing, and nobody is told: found here instead."""

import re
from pathlib import Path

from clinic.access.navigation import ENTRIES

ROOT = Path(__file__).resolve().parents[2]
DRAWN = set(re.findall(r'<symbol id="([^"]+)"', (ROOT / "static/img/icons.svg").read_text()))
NAMED = re.compile(r'(?:{% icon |[{ ]icon=)"([a-z-]+)"(?!\|)')


def test_every_icon_that_a_template_names_is_drawn():
    named = {
        (name, str(path.relative_to(ROOT)))
        for path in (ROOT / "templates").rglob("*.html")
        for name in NAMED.findall(path.read_text())
    }
    assert {name for name, _ in named} >= {"search", "close"}
    assert sorted(pair for pair in named if pair[0] not in DRAWN) == []


def test_every_entry_of_the_navigation_has_its_icon():
    assert [entry.icon for entry in ENTRIES if entry.icon not in DRAWN] == []


def test_every_badge_has_its_icon():
    css = (ROOT / "static/css/badges.css").read_text()
    states = set(re.findall(r"\.badge--([a-z-]+)", css))
    assert "overdue" in states
    assert {state for state in states if f"state-{state}" not in DRAWN} == set()
