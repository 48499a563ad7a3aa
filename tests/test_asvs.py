"""docs/asvs.md: every requirement is there once, and what it names exists."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PAGE = (ROOT / "docs" / "asvs.md").read_text()
ROWS = [
    [cell.strip() for cell in line.strip("|").split("|")]
    for line in PAGE.splitlines()
    if re.match(r"\| \d", line)
]
STATES = {"met", "machine", "in work", "open", "n/a"}
# Last number of each section, and what is deleted or of level 3 alone: the table of 4.0.3 in the
# OWASP/ASVS repository (folder 4.0, docs_en, CSV). With the eight deleted ones and without 2.4.6 it
# is the 267 that the standard counts for level 2 (from memory).
LAST = {
    "1.1": 7, "1.2": 4, "1.4": 5, "1.5": 4, "1.6": 4, "1.7": 2, "1.8": 2, "1.9": 2, "1.10": 1,
    "1.11": 3, "1.12": 2, "1.14": 6, "2.1": 12, "2.2": 7, "2.3": 3, "2.4": 6, "2.5": 7, "2.6": 3,
    "2.7": 6, "2.8": 7, "2.9": 3, "2.10": 4, "3.1": 1, "3.2": 4, "3.3": 4, "3.4": 5, "3.5": 3,
    "3.7": 1, "4.1": 5, "4.2": 2, "4.3": 3, "5.1": 5, "5.2": 8, "5.3": 10, "5.4": 3, "5.5": 4,
    "6.1": 3, "6.2": 8, "6.3": 3, "6.4": 2, "7.1": 4, "7.2": 2, "7.3": 4, "7.4": 3, "8.1": 6,
    "8.2": 3, "8.3": 8, "9.1": 3, "9.2": 5, "10.2": 2, "10.3": 3, "11.1": 8, "12.1": 3, "12.2": 1,
    "12.3": 6, "12.4": 2, "12.5": 2, "12.6": 1, "13.1": 5, "13.2": 6, "13.3": 2, "13.4": 2,
    "14.1": 5, "14.2": 6, "14.3": 3, "14.4": 7, "14.5": 4,
}  # fmt: skip
DELETED = {"1.4.2", "1.4.3", "1.12.1", "4.1.4", "7.3.2", "13.1.2", "13.2.4", "14.3.1"}
LEVEL_3 = {
    "1.11.3", "2.2.4", "2.2.5", "2.2.6", "2.2.7", "6.2.7", "6.2.8", "6.3.3", "8.1.5", "8.1.6",
    "9.2.5", "14.1.5",
}  # fmt: skip


def test_every_requirement_of_both_levels_stands_there_once():
    asked = {f"{section}.{n}" for section, last in LAST.items() for n in range(1, last + 1)}
    numbers = [row[0] for row in ROWS]
    assert len(numbers) == len(set(numbers))
    assert set(numbers) == asked - DELETED - LEVEL_3
    assert len(numbers) - 1 + len(DELETED) == 267


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row[0])
def test_a_row_says_how_it_is_met_or_why_not(row):
    _, level, asked, state, told = row
    assert level in {"1", "2"}
    assert state in STATES
    assert asked
    assert told
    named = re.findall(r"`([^`]+)`", told)
    assert [path for path in named if not (ROOT / path).exists()] == []
    assert named or state != "met", "name the file that holds it"


def test_the_guide_leads_there():
    assert "(docs/asvs.md)" in (ROOT / "DEVELOPERS.md").read_text()
