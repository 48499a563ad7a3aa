"""
A tablet keeps the look of `:hover` on what was touched last, until something else is touched: so
such a look is given only where there is a pointer that hovers.

Source: W3C, Media Queries Level 4, section "Hover Capability: the hover feature".
"""

import re
from pathlib import Path

STATIC = Path(__file__).resolve().parents[2] / "static"


def unguarded(css: str) -> list[str]:
    """Selectors with `:hover` outside of every `@media (hover: hover)`."""
    css = re.sub(r"/\*.*?\*/", "", css, flags=re.S)
    found, around = [], []
    for opening, closing in re.findall(r"([^{};]*)\{|(\})", css):
        if closing:
            around.pop()
            continue
        if ":hover" in opening and "@media (hover: hover)" not in around:
            found.append(" ".join(opening.split()))
        around.append(opening.strip())
    return found


def test_looks_of_hovering_are_for_pointers_that_hover():
    files = sorted((STATIC / "css").rglob("*.css"))
    found = [
        f"{path.name}: {selector}" for path in files for selector in unguarded(path.read_text())
    ]
    assert found == []


def test_a_look_of_hovering_on_touch_is_noticed():
    guarded = "@media (hover: hover) { .a:hover { color: red; } }"
    assert unguarded(f"{guarded} .b:hover,\n.c {{ color: red; }}") == [".b:hover, .c"]
    assert unguarded("@media print { .d:hover { color: red; } }") == [".d:hover"]
