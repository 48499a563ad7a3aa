"""The bench itself: how values become a line, and that it runs at all."""

import os
import subprocess
import sys

import pypdfium2
import pytest
from django.conf import settings

from clinic.printing.pdf import render_pdf
from records.notes.services import note_html
from records.sessions.models import TreatmentSession
from tests.bench import pdf
from tests.bench.results import RATIO, compared, interleaved, percentile, summed_up


@pytest.mark.parametrize(
    ("share", "expected"), [(0.05, 15), (0.30, 20), (0.40, 20), (0.50, 35), (1.0, 50)]
)
def test_percentile_by_nearest_rank(share, expected):
    """Source: the worked example of the nearest-rank method, five values 15 to 50."""
    assert percentile([50, 15, 40, 20, 35], share) == expected


def test_ratio_is_taken_round_by_round():
    result = compared("a", [2.0, 9.0, 4.0], [1.0, 3.0, 4.0], goal=1.5)
    assert (result.lowest, result.median, result.highest) == (1.0, 2.0, 3.0)
    assert result.is_met is False


def test_goal_is_judged_by_what_it_names():
    values = [1.0] * 90 + [5.0] * 10
    assert summed_up("a", values, unit=RATIO, goal=2).is_met is True
    assert summed_up("a", values, unit=RATIO, goal=2, judged="p95").is_met is False
    assert summed_up("a", values, unit=RATIO).is_met is None


def test_acts_take_turns_after_one_round_that_does_not_count():
    order = []
    seconds = interleaved(3, a=lambda: order.append("a"), b=lambda: order.append("b"))
    assert "".join(order) == "ab" + "ab" + "ba" + "ab"
    assert [len(values) for values in seconds.values()] == [3, 3]


@pytest.mark.parametrize(
    ("part", "lines"),
    [
        ("trace", ["CSV"] * 2 + ["Trace"] * 4),
        ("points", ["20"] * 4),
        pytest.param("frame", ["Touch"] * 3, marks=pytest.mark.browser),
    ],
)
def test_bench_runs_on_few_rows(part, lines, migrated_file):
    done = subprocess.run(
        [sys.executable, "-m", "tests.bench", "--on", "SQLite", part],
        cwd=settings.BASE_DIR,
        env=os.environ | {"BENCH_SCALE": "small", "BENCH_MIGRATED": str(migrated_file)},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    table = done.stdout.splitlines()
    assert table[0].startswith("| what | database |")
    assert [line.split("|")[1].split()[0] for line in table[2:]] == lines


def test_note_and_weasyprint_alone_give_the_same_document(db):
    pdf.build(6)
    html = note_html(TreatmentSession.objects.get())
    ours, alone = (
        [page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(made)]
        for made in (render_pdf(html), pdf.weasyprint_alone(html))
    )
    assert ours == alone
    assert "0.02 mL" in "".join(ours)
