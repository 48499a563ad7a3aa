"""The server of a chaos run: the gunicorn that the demo is served with, ended at any moment."""

import contextlib
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from pathlib import Path

from tests.postgres import end_with_parent

ROOT = Path(__file__).parents[2]
START_SECONDS = 60


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


class Server:
    """
    A real server process on the database of the environment.

    Start it from the thread that outlives it (Linux ends it with that thread); `kill` may come from
    any thread, at any moment.
    """

    def __init__(self, folder: Path) -> None:
        self.port, self.kills, self.starts = free_port(), 0, 0
        self.log = folder / "server.log"
        self._lock = threading.Lock()
        self._process: subprocess.Popen | None = None

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    @property
    def processor_seconds(self) -> float:
        """What it and its workers have used of the processors, as Linux tells it in proc(5)."""
        ticks = 0
        for stat in Path("/proc").glob("[0-9]*/stat"):
            with contextlib.suppress(OSError):
                # After the name, which may hold anything: state, parent, group; user 12th, system.
                told = stat.read_text().rpartition(") ")[2].split()
                if int(told[2]) == self._process.pid:
                    ticks += int(told[11]) + int(told[12])
        return ticks / os.sysconf("SC_CLK_TCK")

    def start(self) -> None:
        """Begin to start; returns at once, as a supervisor does."""
        command = [sys.executable, "-m", "gunicorn", "--config", "scripts/gunicorn_demo.py"]
        with self._lock, self.log.open("ab") as log:
            self._process = subprocess.Popen(
                [*command, "clinic.wsgi"],
                cwd=ROOT,
                env=os.environ | {"BIND": "127.0.0.1", "PORT": str(self.port)},
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=log,
                start_new_session=True,
                preexec_fn=end_with_parent,
            )
            self.starts += 1

    def kill(self) -> None:
        """End it and its workers with SIGKILL: nothing of it is carried out any more."""
        with self._lock:
            if self._process is None or self._process.poll() is not None:
                return
            with contextlib.suppress(ProcessLookupError):
                os.killpg(self._process.pid, signal.SIGKILL)
            self._process.wait()
            self.kills += 1

    def tend(self) -> None:
        """Start it again if it is dead."""
        if self._process is None or self._process.poll() is not None:
            self.start()

    def wait(self) -> None:
        """Return when it takes connections; raises TimeoutError with its log when it never does."""
        give_up_at = time.monotonic() + START_SECONDS
        while time.monotonic() < give_up_at:
            self.tend()
            with (
                contextlib.suppress(OSError),
                socket.create_connection(("127.0.0.1", self.port), timeout=1),
            ):
                return
            with contextlib.suppress(subprocess.TimeoutExpired):
                self._process.wait(timeout=0.05)
        raise TimeoutError(f"The server did not start:\n{self.log.read_text()[-3000:]}")

    def end(self) -> None:
        self.kill()
