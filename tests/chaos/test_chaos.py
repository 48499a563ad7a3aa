"""
A short run with real browsers and a real server, and runs on something broken, which must fail.

Each run is a process of its own, with its own database, as `make chaos` starts it.
"""

import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SECONDS = 300

pytestmark = pytest.mark.browser


@pytest.fixture
def chaos(migrated_file, tmp_path) -> Callable[..., subprocess.CompletedProcess]:
    """`chaos("--seed", "1")`: what the run says, on an empty database of its own."""
    file = tmp_path / "chaos.sqlite3"
    shutil.copy(migrated_file, file)
    env = os.environ | {"DATABASE_URL": f"sqlite:///{file}"}
    env.pop("DJANGO_SETTINGS_MODULE", None)

    def run(*arguments: str) -> subprocess.CompletedProcess:
        return subprocess.run(
            [sys.executable, "-m", "tests.chaos", *arguments],
            cwd=ROOT, env=env, capture_output=True, text=True, timeout=SECONDS, check=False,
        )  # fmt: skip

    return run


def test_nothing_is_lost_or_doubled(chaos):
    done = chaos("--seed", "1", "--steps", "150")
    assert done.returncode == 0, done.stdout[-8000:] + done.stderr[-3000:]
    assert "150 steps" in done.stdout


@pytest.mark.parametrize(
    ("spoil", "found"),
    [
        ("acknowledge-unstored", "acknowledged, but not stored: log"),
        ("make-up", "stored, but never asked for: log"),
        ("forget", "made on a tablet, given up by nobody, but not stored (no row): log"),
    ],
)
def test_run_on_something_broken_finds_it(chaos, spoil, found):
    done = chaos("--seed", "1", "--steps", "30", "--hands-only", "--spoil", spoil)
    assert done.returncode == 1, done.stdout[-8000:] + done.stderr[-3000:]
    assert found in done.stdout
    assert "Run again: make chaos SEED=1 STEPS=30" in done.stdout


def test_steps_depend_on_the_seed_alone():
    from tests.chaos.steps import step_of

    assert step_of(1, 7) == step_of(1, 7)
    assert [step_of(1, n) for n in range(20)] != [step_of(2, n) for n in range(20)]
