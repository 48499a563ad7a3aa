"""What kind an act is, over every name that the source writes."""

import re
from pathlib import Path

import pytest

from planning.act_kinds import NAMES, ActKind, kind_of

ROOT = Path(__file__).parents[2]
WRITTEN = re.compile(r"""(?:action=|\.add\(\s*)f?"([a-z_]+(?:\.[a-z_]+)?)\"""")


def names_in_source() -> set[str]:
    files = [*ROOT.glob("clinic/**/*.py"), *ROOT.glob("records/**/*.py")]
    found = {name for file in files for name in WRITTEN.findall(file.read_text())}
    return {name for name in found if "." in name or name in {"read", "printed", "exported"}}


@pytest.mark.parametrize(
    ("action", "kind"),
    [
        ("read", ActKind.OPENED),
        ("read.timeline", ActKind.OPENED),
        ("messages.read", ActKind.OPENED),
        ("recall.list_read", ActKind.OPENED),
        ("patient.traced", ActKind.OPENED),
        ("note.draft_printed", ActKind.PRINTED),
        ("occlusion.handed_over", ActKind.PRINTED),
        ("exported", ActKind.EXPORTED),
        ("patient.record_exported", ActKind.EXPORTED),
        ("message.sent", ActKind.SENT),
        ("mailing.sent", ActKind.SENT),
        ("patient.changed", ActKind.CHANGED),
        ("patient.spread", ActKind.CHANGED),  # no word of its own ends so
        ("alert.added", ActKind.CHANGED),
    ],
)
def test_the_kind_is_told_by_the_name(action, kind):
    assert kind_of(action) is kind


def test_no_name_of_the_source_is_of_two_kinds():
    names = names_in_source()
    assert {"read.timeline", "note.printed", "point.logged"} <= names
    twice = [name for name in names if sum(one.fit(name) for one in NAMES.values()) > 1]
    assert twice == []


def test_what_tells_of_reading_or_printing_in_the_source_is_no_change():
    telling = re.compile(r"read|printed|exported|traced")
    names = {name for name in names_in_source() if telling.search(name)}
    assert {name for name in names if kind_of(name) is ActKind.CHANGED} == set()
