"""The server that the PostgreSQL half of the tests runs on leaves nothing behind."""

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg
import pytest

from tests.postgres import NoServer, throwaway_server

ROOT = Path(__file__).resolve().parents[1]


def folder_in(url: str) -> Path:
    return Path(url.split("@")[1].split(":")[0].replace("%2F", "/"))


def pass_over_interrupts() -> None:
    """As a shell does for what it starts in the background."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


@contextmanager
def run_with_server(*command: str) -> Iterator[subprocess.Popen]:
    with subprocess.Popen(
        [sys.executable, "-m", "tests.postgres", *command],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        preexec_fn=pass_over_interrupts,
    ) as running:
        try:
            yield running
        finally:
            running.kill()


def test_the_server_answers_on_its_socket_alone_and_is_gone_afterwards():
    with throwaway_server() as url:
        with psycopg.connect(url) as connection:
            addresses = connection.execute("SHOW listen_addresses").fetchone()
            collation = connection.execute(
                "SELECT datcollate, pg_encoding_to_char(encoding) FROM pg_database"
                " WHERE datname = 'template1'"
            ).fetchone()
        assert folder_in(url).is_dir()
    assert addresses == ("",)
    assert collation == ("C.UTF-8", "UTF8")
    assert not folder_in(url).exists()


def test_the_answer_of_the_command_is_passed_on():
    with run_with_server(sys.executable, "-c", "raise SystemExit(7)") as running:
        running.communicate(timeout=60)
    assert running.returncode == 7


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_a_request_to_end_takes_the_server_down(number):
    show_and_wait = (
        "import os, signal; print(os.environ['DATABASE_URL'], flush=True); signal.pause()"
    )
    with run_with_server(sys.executable, "-c", show_and_wait) as running:
        folder = folder_in(running.stdout.readline().strip())
        server = int((folder / "data" / "postmaster.pid").read_text().splitlines()[0])
        running.send_signal(number)
        running.communicate(timeout=60)
    assert running.returncode == 128 + number
    assert not folder.exists()
    with pytest.raises(ProcessLookupError):
        os.kill(server, 0)


def test_what_the_server_says_at_a_failed_start_is_shown():
    with pytest.raises(NoServer, match="no_such_setting"), throwaway_server(no_such_setting="on"):
        pass
