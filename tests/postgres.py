"""
A PostgreSQL server for one run of the tests: `python -m tests.postgres COMMAND...`.

Runs COMMAND with DATABASE_URL naming a fresh server, and removes the server afterwards whatever
happens. It listens on a socket in its own folder only, so it meets no other server's port, and it
never waits for the disk. The server's programs refuse to run as root: root hands them to another
user.
"""

import contextlib
import ctypes
import os
import pwd
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

ROLE = DATABASE = "clinic"
START_SECONDS = 60
# Speed, at the price of data that would not survive a power cut; nobody keeps this data.
FAST = {"fsync": "off", "synchronous_commit": "off", "full_page_writes": "off"}


class NoServer(Exception):
    """PostgreSQL is not installed, or would not start."""


def programs() -> Path:
    """Folder of the newest installed server's programs (CLINIC_POSTGRESQL_BIN names another)."""
    if chosen := os.environ.get("CLINIC_POSTGRESQL_BIN"):
        return Path(chosen)
    installed = [
        folder
        for folder in Path("/usr/lib/postgresql").glob("*/bin")
        if folder.parent.name.isdecimal() and (folder / "initdb").exists()
    ]
    if installed:
        return max(installed, key=lambda folder: int(folder.parent.name))
    if on_path := shutil.which("initdb"):
        return Path(on_path).resolve().parent
    raise NoServer("No PostgreSQL server is installed. On Debian: apt-get install postgresql")


def server_user() -> pwd.struct_passwd:
    """Whom the server runs as: ourselves, or for root the user postgres, else nobody."""
    if os.geteuid() != 0:
        return pwd.getpwuid(os.geteuid())
    with contextlib.suppress(KeyError):
        return pwd.getpwnam("postgres")
    return pwd.getpwnam("nobody")


def _as_user(user: pwd.struct_passwd) -> dict:
    """Arguments of subprocess that start a program as `user`."""
    if os.geteuid() != 0:
        return {}
    return {"user": user.pw_uid, "group": user.pw_gid, "extra_groups": []}


def end_with_parent() -> None:
    """In the server, before it starts: end it at once should this program be killed (Linux)."""
    if sys.platform == "linux":
        pr_set_pdeathsig = 1  # linux/prctl.h
        ctypes.CDLL(None).prctl(pr_set_pdeathsig, signal.SIGQUIT)


def _run(command: list[str | Path], user: pwd.struct_passwd, folder: Path) -> None:
    """Run one of the server's programs to its end; its words are shown when it fails."""
    done = subprocess.run(
        command,
        cwd=folder,
        env={"PATH": os.environ.get("PATH", ""), "LC_ALL": "C.UTF-8"},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        check=False,
        **_as_user(user),
    )
    if done.returncode:
        raise NoServer(f"{Path(command[0]).name} failed:\n{done.stdout}")


def _start(
    bin_folder: Path, user: pwd.struct_passwd, folder: Path, options: dict[str, str]
) -> subprocess.Popen:
    """The server's process, not yet ready to answer."""
    settings = {"listen_addresses": "", "unix_socket_directories": str(folder), **options}
    command = [bin_folder / "postgres", "-D", folder / "data", "-p", "5432"]
    for name, value in settings.items():
        command += ["-c", f"{name}={value}"]
    with (folder / "log").open("wb") as log:
        return subprocess.Popen(
            command,
            cwd=folder,
            stdin=subprocess.DEVNULL,
            stdout=log,
            stderr=log,
            # Ctrl-C in the terminal reaches the tests first; they still need the server to end.
            start_new_session=True,
            preexec_fn=end_with_parent,
            **_as_user(user),
        )


def _wait_until_ready(bin_folder: Path, folder: Path, server: subprocess.Popen) -> None:
    """Return when the server takes connections; raise with its log when it never does."""
    ask = [bin_folder / "pg_isready", "--quiet", "--host", folder, "--port", "5432"]
    give_up_at = time.monotonic() + START_SECONDS
    while subprocess.run(ask, check=False).returncode:
        with contextlib.suppress(subprocess.TimeoutExpired):
            server.wait(timeout=0.05)
            raise NoServer(f"PostgreSQL ended at its start:\n{(folder / 'log').read_text()}")
        if time.monotonic() > give_up_at:
            raise NoServer(f"PostgreSQL did not start:\n{(folder / 'log').read_text()}")


def _stop(server: subprocess.Popen) -> None:
    """End the server, its connections included."""
    server.send_signal(signal.SIGINT)
    try:
        server.wait(timeout=20)
    except subprocess.TimeoutExpired:
        server.kill()
        server.wait()


class Server:
    """A server in a folder of its own, started and stopped at will; what it holds stays."""

    def __init__(self, folder: Path, options: dict[str, str]) -> None:
        self.folder, self.options = folder, FAST | options
        self.bin_folder, self.user = programs(), server_user()
        self.process: subprocess.Popen | None = None

    @property
    def url(self) -> str:
        return f"postgres://{ROLE}@{str(self.folder).replace('/', '%2F')}:5432/{DATABASE}"

    def make(self) -> None:
        """Its files, the server itself, and an empty database."""
        os.chown(self.folder, self.user.pw_uid, self.user.pw_gid)
        initdb = [self.bin_folder / "initdb", "--pgdata", self.folder / "data"]
        initdb += ["--username", ROLE, "--auth=trust", "--encoding=UTF8", "--locale=C.UTF-8"]
        _run([*initdb, "--no-sync"], self.user, self.folder)
        self.start()
        address = ["--host", str(self.folder), "--port", "5432", "--username", ROLE]
        _run([self.bin_folder / "createdb", *address, DATABASE], self.user, self.folder)

    def start(self) -> None:
        self.process = _start(self.bin_folder, self.user, self.folder, self.options)
        _wait_until_ready(self.bin_folder, self.folder, self.process)

    def stop(self) -> None:
        if self.process is not None:
            _stop(self.process)
            self.process = None


@contextlib.contextmanager
def server_at_will(**options: str) -> Iterator[Server]:
    """
    A new server with an empty database, running; it lives no longer than the block.

    Args:
        options: server settings by name; the ones in FAST are on unless given otherwise.

    Raises:
        NoServer: not installed, or it would not start; with what it said.
    """
    # Not the user's TMPDIR: a socket's path may have 107 bytes, and the way there must be open.
    folder = Path(tempfile.mkdtemp(prefix="clinic-pg-", dir="/tmp"))
    server = None
    try:
        server = Server(folder, options)
        server.make()
        yield server
    finally:
        if server is not None:
            server.stop()
        shutil.rmtree(folder, ignore_errors=True)


@contextlib.contextmanager
def throwaway_server(**options: str) -> Iterator[str]:
    """The DATABASE_URL of such a server, for whoever needs no more of it."""
    with server_at_will(**options) as server:
        yield server.url


def _end_on_signals() -> None:
    """
    Let a request to end come as an exception, so that the server is taken down on the way.

    Ctrl-C included: a shell that starts a program in the background has it passed over.
    """

    def leave(number, frame):
        raise SystemExit(128 + number)

    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(number, leave)


def main(command: list[str]) -> int:
    """Run `command` with a server; its exit status, or 2 when there could be no server."""
    if not command:
        print("Say what to run: python -m tests.postgres COMMAND...", file=sys.stderr)
        return 2
    _end_on_signals()
    try:
        with throwaway_server() as url:
            # A PGHOST or PGSERVICE of the developer's must not lead elsewhere.
            env = {name: text for name, text in os.environ.items() if not name.startswith("PG")}
            with subprocess.Popen(command, env=env | {"DATABASE_URL": url}) as running:
                try:
                    return running.wait()
                except BaseException:
                    running.terminate()
                    raise
    except NoServer as problem:
        print(problem, file=sys.stderr)
        return 2
    except FileNotFoundError as problem:
        print(f"Cannot run {problem.filename}: not found.", file=sys.stderr)
        return 2


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
