"""The tool as `make serve` serves it, on ports and in folders of its own, and somebody who asks."""

import contextlib
import http.client
import json
import os
import re
import secrets
import signal
import socket
import ssl
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from http.cookies import SimpleCookie
from pathlib import Path
from urllib.parse import urlencode

from tests.postgres import end_with_parent

ROOT = Path(__file__).resolve().parents[2]
HOST = "record.clinic.example"
PATIENCE = 120
TOKEN = re.compile(r'name="csrfmiddlewaretoken" value="([^"]+)"')


class Trial:
    """What was looked at, told at once; `failed` counts what was not so."""

    def __init__(self) -> None:
        self.failed = 0

    def see(self, what: str, is_so: object, found: object = "") -> None:
        self.failed += not is_so
        note = "" if is_so or found == "" else f"   found: {found!r}"
        print(f"{'ok   ' if is_so else 'NOT  '} {what}{note}", flush=True)


@dataclass
class Answer:
    status: int
    headers: http.client.HTTPMessage
    body: bytes

    @property
    def text(self) -> str:
        return self.body.decode("utf-8", "replace")

    @property
    def cookies(self) -> list[str]:
        return self.headers.get_all("Set-Cookie") or []


@dataclass
class Asker:
    """
    Keeps cookies as a browser does. Without `tls` it stands where the proxy does, and says so.
    """

    port: int
    tls: ssl.SSLContext | None = None
    host: str = HOST
    as_proxy: bool = True
    kept: dict[str, str] = field(default_factory=dict)

    def ask(self, method: str, path: str, body: bytes | None = None, **headers: str) -> Answer:
        sent = {"Host": self.host, "Accept": "text/html", **headers}
        if self.tls is None and self.as_proxy:
            sent |= {"X-Forwarded-Proto": "https", "X-Forwarded-For": "192.0.2.7"}
        if self.kept:
            sent["Cookie"] = "; ".join(f"{name}={value}" for name, value in self.kept.items())
        connection = self._connection()
        try:
            connection.request(method, path, body, sent)
            got = connection.getresponse()
            answer = Answer(got.status, got.headers, got.read())
        finally:
            connection.close()
        for line in answer.cookies:
            for name, morsel in SimpleCookie(line).items():
                self.kept[name] = morsel.value
        return answer

    def get(self, path: str, **headers: str) -> Answer:
        return self.ask("GET", path, **headers)

    def post(self, path: str, fields: dict[str, str]) -> Answer:
        site = {"Origin": f"https://{self.host}", "Referer": f"https://{self.host}{path}"}
        kind = {"Content-Type": "application/x-www-form-urlencoded"}
        return self.ask("POST", path, urlencode(fields).encode(), **site, **kind)

    def sign_in(self, username: str, password: str) -> Answer:
        found = TOKEN.search(self.get("/staff/sign-in/").text)
        assert found, "the page to sign in has no form"
        return self.post(
            "/staff/sign-in/",
            {"csrfmiddlewaretoken": found[1], "username": username, "password": password},
        )

    def _connection(self) -> http.client.HTTPConnection:
        if self.tls is None:
            return http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        connection = http.client.HTTPSConnection(
            "127.0.0.1", self.port, timeout=30, context=self.tls
        )
        raw = socket.create_connection(("127.0.0.1", self.port), timeout=30)
        connection.sock = self.tls.wrap_socket(raw, server_hostname=self.host)
        return connection


class Served:
    """scripts/serve running, with every line that it and all below it write."""

    def __init__(self, folder: Path, database_url: str) -> None:
        self.folder, self.port = folder, free_port()
        self.lines: list[str] = []
        key, database = folder / "secret_key", folder / "database_url"
        key.write_text(secrets.token_urlsafe(50))
        database.write_text(database_url)
        self.env = {name: text for name, text in os.environ.items()
                    if not name.startswith(("CLINIC_", "PG", "DATABASE_", "DJANGO_"))}  # fmt: skip
        self.env |= {
            "CLINIC_VAR": str(folder / "var"),
            "CLINIC_PRODUCTION": "yes",
            "CLINIC_SECRET_KEY_FILE": str(key),
            "DATABASE_URL_FILE": str(database),
            "CLINIC_HOSTS": HOST,
            "CLINIC_ORIGINS": f"https://{HOST}",
            "PORT": str(self.port),
            "WORKERS": "2",
        }

    def start(self) -> None:
        self.process = subprocess.Popen(
            [ROOT / "scripts" / "serve"],
            cwd=ROOT,
            env=self.env,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            start_new_session=True,
            preexec_fn=end_with_parent,
        )
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()

    def _read(self) -> None:
        assert self.process.stdout
        for line in self.process.stdout:
            self.lines.append(line.rstrip("\n"))

    def manage(self, *words: str) -> None:
        subprocess.run(
            [sys.executable, "manage.py", *words],
            cwd=ROOT, env=self.env, check=True, capture_output=True,
        )  # fmt: skip

    def stop(self) -> int:
        """As systemd does: SIGTERM to the first process alone, and what is left is killed."""
        self.process.send_signal(signal.SIGTERM)
        try:
            return self.process.wait(timeout=40)
        finally:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(self.process.pid, signal.SIGKILL)
            self._reader.join(timeout=10)

    def machine(self) -> Asker:
        """Who asks on the machine itself, past the proxy."""
        return Asker(self.port, as_proxy=False)

    def ready(self) -> dict:
        return json.loads(self.machine().get("/ready/").text)


@contextlib.contextmanager
def served(folder: Path, database_url: str) -> Iterator[Served]:
    """Running, and alive."""
    server = Served(folder, database_url)
    server.start()
    try:
        if not wait_for(lambda: server.machine().get("/health/").status == 200, server.process):
            raise RuntimeError("It did not start:\n" + "\n".join(server.lines[-20:]))
        yield server
    finally:
        if server.process.poll() is None:
            server.stop()


def wait_for(
    is_so: Callable[[], object], process: subprocess.Popen | None = None, seconds: float = PATIENCE
) -> bool:
    """Whether it became so in time; an end of `process` ends the waiting."""
    give_up_at = time.monotonic() + seconds
    while time.monotonic() < give_up_at:
        with contextlib.suppress(OSError, http.client.HTTPException, ValueError):
            if is_so():
                return True
        if process is not None and process.poll() is not None:
            return False
        time.sleep(0.2)
    return False


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as server:
        return server.getsockname()[1]
