"""
The colours of both themes against WCAG 2.2.

Source of formula and limits: W3C, Web Content Accessibility Guidelines 2.2 (12 December 2024),
definitions "relative luminance" and "contrast ratio"; success criteria 1.4.3 (text, 4.5:1) and
1.4.11 (edges of controls and graphical objects, 3:1).
"""

import re
from pathlib import Path

import pytest

TOKENS = Path(__file__).resolve().parents[2] / "static" / "css" / "tokens.css"
COLOUR = re.compile(r"--([a-z-]+): light-dark\((#[0-9a-f]{6}), (#[0-9a-f]{6})\);")
GROUNDS = ["sunk", "paper", "surface", "raised"]
STATES = ["good", "note", "caution", "stop"]
TEXT = [
    *[(ink, ground) for ink in ["ink", "ink-soft", "accent", "mark"] for ground in GROUNDS],
    *[(f"{state}-ink", ground) for state in STATES for ground in [*GROUNDS, f"{state}-wash"]],
    *[(ink, f"{state}-wash") for ink in ["ink", "ink-soft"] for state in STATES],
    *[(ink, wash) for ink in ["ink", "ink-soft"] for wash in ["accent-wash", "mark-wash"]],
    ("on-accent", "accent"),
    ("on-accent", "accent-strong"),
    ("on-mark", "mark"),
    ("on-stop", "stop-solid"),
]
EDGES = [(edge, ground) for edge in ["edge", "focus", "accent", "mark"] for ground in GROUNDS]


def themes() -> dict[str, dict[str, str]]:
    found = COLOUR.findall(TOKENS.read_text())
    return {
        "light": {name: light for name, light, _ in found},
        "dark": {name: dark for name, _, dark in found},
    }


def luminance(colour: str) -> float:
    """Relative luminance of #rrggbb, 0 for black to 1 for white."""

    def linear(share: float) -> float:
        return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4

    red, green, blue = (linear(int(colour[at : at + 2], 16) / 255) for at in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def too_weak(pairs: list[tuple[str, str]], least: float, theme: str) -> list[str]:
    colours = themes()[theme]
    ratios = {pair: contrast(colours[pair[0]], colours[pair[1]]) for pair in pairs}
    return [f"{ink} on {ground}: {r:.2f}" for (ink, ground), r in ratios.items() if r < least]


def test_the_formula_gives_the_ratio_of_black_on_white():
    # 21:1 is the largest ratio there is (definition "contrast ratio", note 1).
    assert contrast("#000000", "#ffffff") == pytest.approx(21)


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_text_can_be_read(theme):
    assert too_weak(TEXT, 4.5, theme) == []


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_controls_and_focus_can_be_seen(theme):
    assert too_weak(EDGES, 3.0, theme) == []
