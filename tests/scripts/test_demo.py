"""`make demo-reset` removes the demo's own database, and only when nobody is using it."""

import os
import shutil
import socket
import subprocess
import sys
from pathlib import Path

import pytest

SCRIPTS = Path(__file__).resolve().parents[2] / "scripts"


@pytest.fixture
def checkout(tmp_path):
    """A folder as after an earlier demo, with a manage.py that only notes what is asked of it."""
    (tmp_path / "scripts").mkdir()
    for name in ("demo", "port_is_free.py"):
        shutil.copy(SCRIPTS / name, tmp_path / "scripts")
    python = tmp_path / ".venv" / "bin" / "python"
    python.parent.mkdir(parents=True)
    python.write_text(f'#!/bin/sh\nexec {sys.executable} "$@"\n')
    python.chmod(0o755)
    (tmp_path / "manage.py").write_text("raise SystemExit('manage.py was reached')\n")
    (tmp_path / "var").mkdir()
    for name in ("demo.sqlite3", "demo.sqlite3-wal", "clinic.sqlite3", "secret_key"):
        (tmp_path / "var" / name).write_text("kept from before")
    return tmp_path


def run(checkout: Path, action: str, **settings: str) -> subprocess.CompletedProcess:
    environment = {name: text for name, text in os.environ.items() if name != "DATABASE_URL"}
    return subprocess.run(
        [checkout / "scripts" / "demo", action],
        env=environment | settings,
        capture_output=True,
        text=True,
        check=False,
    )


def kept(checkout: Path) -> list[str]:
    return sorted(path.name for path in (checkout / "var").iterdir())


EVERYTHING = ["clinic.sqlite3", "demo.sqlite3", "demo.sqlite3-wal", "secret_key"]


@pytest.fixture
def free_port() -> str:
    with socket.create_server(("127.0.0.1", 0)) as server:
        return str(server.getsockname()[1])


def test_start_keeps_everything(checkout, free_port):
    answer = run(checkout, "start", PORT=free_port)
    assert "manage.py was reached" in answer.stderr
    assert kept(checkout) == EVERYTHING


def test_reset_removes_the_demo_database_only(checkout, free_port):
    answer = run(checkout, "reset", PORT=free_port)
    assert "manage.py was reached" in answer.stderr
    assert kept(checkout) == ["clinic.sqlite3", "secret_key"]


def test_reset_removes_nothing_while_the_demo_runs(checkout):
    with socket.create_server(("127.0.0.1", 0)) as running:
        answer = run(checkout, "reset", PORT=str(running.getsockname()[1]))
    assert answer.returncode == 1
    assert "Perhaps the demo is running already" in answer.stderr
    assert kept(checkout) == EVERYTHING


def test_reset_leaves_a_chosen_database_alone(checkout, free_port):
    answer = run(checkout, "reset", PORT=free_port, DATABASE_URL="postgres://clinic@host/clinic")
    assert answer.returncode == 1
    assert "but DATABASE_URL is set" in answer.stderr
    assert kept(checkout) == EVERYTHING
