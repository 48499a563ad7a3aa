"""
One browser's way to the server: kept open as a browser keeps it, and every answer timed.

Timed is what the browser waits for: from the moment it asks, a new connection included where the
server has ended the old one, to the last byte of the answer.
"""

import http.client
import json
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from queue import SimpleQueue
from typing import Any
from urllib.parse import urlencode

EMPTY = "/bench/empty/"
TOKEN = "l" * 32
# The server ends a connection that is idle for two seconds; a browser notices, and opens another.
IDLE_SECONDS = 1.5
PATIENCE_SECONDS = 30
# As many connections to one server as browsers open over HTTP/1.1.
AT_ONCE = 6


@dataclass(frozen=True, slots=True)
class Answer:
    status: int
    body: str
    mark: str = ""


@dataclass(frozen=True, slots=True)
class Sample:
    """
    One request of a kind.

    Attributes:
        at: when it was asked, by the clock of `time.monotonic`.
        empty: seconds of the empty view, asked by the same browser right after.
        fault: what was wrong with the answer; "" if nothing.
    """

    kind: str
    at: float
    seconds: float
    empty: float
    fault: str


# Asks the server once: method, address, body, headers.
Send = Callable[[str, str, str | None, Mapping[str, str]], Answer]


class Connection:
    """A connection that is opened anew when it was idle."""

    def __init__(self, port: int) -> None:
        self._connection = http.client.HTTPConnection("127.0.0.1", port, timeout=PATIENCE_SECONDS)
        self._used_at = 0.0

    def __call__(
        self, method: str, address: str, body: str | None, headers: Mapping[str, str]
    ) -> Answer:
        if time.monotonic() - self._used_at > IDLE_SECONDS:
            self._connection.close()
        try:
            self._connection.request(method, address, body, dict(headers))
            answer = self._connection.getresponse()
            text = answer.read().decode()
        except (OSError, http.client.HTTPException):
            self._connection.close()
            raise
        self._used_at = time.monotonic()
        return Answer(answer.status, text, answer.headers.get("ETag", ""))


@dataclass(slots=True)
class _Asked:
    kind: str
    at: float
    seconds: float
    fault: str = ""


class Browser:
    """
    A signed-in browser with a few connections, of which one is used unless parts are asked at once.

    What it asked is kept until `finish`, which asks the empty view and gives the samples.
    """

    def __init__(self, lines: Iterable[Send], session: str) -> None:
        self._free: SimpleQueue[Send] = SimpleQueue()
        for line in lines:
            self._free.put(line)
        self._headers = {
            "Cookie": f"sessionid={session}; csrftoken={TOKEN}",
            "X-CSRFToken": TOKEN,
            "Accept": "text/html",
        }
        self._asked: list[_Asked] = []

    def get(
        self, kind: str, address: str, *, want: Iterable[int] = (200,), **headers: str
    ) -> Answer:
        return self._ask(kind, "GET", address, None, want, headers)

    def post(
        self, kind: str, address: str, fields: Mapping[str, Any], *, want: Iterable[int] = (200,)
    ) -> Answer:
        sent = {"Content-Type": "application/x-www-form-urlencoded"}
        return self._ask(kind, "POST", address, urlencode(fields), want, sent)

    def post_json(self, kind: str, address: str, content: Mapping[str, Any]) -> Answer:
        sent = {"Content-Type": "application/json", "Accept": "application/json"}
        return self._ask(kind, "POST", address, json.dumps(content), (200,), sent)

    def get_together(self, wanted: Sequence[tuple[str, str]]) -> None:
        """(kind, address) each, asked by scripts at once like the parts of a page."""

        def part(one: tuple[str, str]) -> None:
            self._ask(one[0], "GET", one[1], None, (200,), {"HX-Request": "true"})

        if (lines := self._free.qsize()) == 1:
            for one in wanted:
                part(one)
            return
        with ThreadPoolExecutor(lines) as pool:
            list(pool.map(part, wanted))

    def note(self, kind: str, since: float) -> None:
        """What took several requests, from `since` until now."""
        self._asked.append(_Asked(kind, since, time.monotonic() - since))

    def rename(self, kind: str) -> None:
        """The last request was of another kind, as its answer shows."""
        self._asked[-1].kind = kind

    def fail(self, fault: str) -> None:
        """What the last request was answered is no good, whatever its status says."""
        self._asked[-1].fault = self._asked[-1].fault or fault

    def finish(self) -> list[Sample]:
        """What was asked since the last time, each beside the empty view."""
        asked, self._asked = self._asked, []
        self._ask("empty", "GET", EMPTY, None, (200,), {})
        empty = self._asked.pop()
        if empty.fault:
            raise RuntimeError(f"The empty view: {empty.fault}")
        return [Sample(one.kind, one.at, one.seconds, empty.seconds, one.fault) for one in asked]

    def _ask(
        self,
        kind: str,
        method: str,
        address: str,
        body: str | None,
        want: Iterable[int],
        headers: Mapping[str, str],
    ) -> Answer:
        """A fault is kept with the sample, and the answer is then empty."""
        line = self._free.get()
        start = time.monotonic()
        answer, fault = Answer(0, ""), ""
        try:
            answer = line(method, address, body, {**self._headers, **headers})
            if answer.status not in want:
                fault = f"{method} {address} answered {answer.status}"
        except (OSError, http.client.HTTPException) as error:
            fault = f"{method} {address}: {error!r}"
        self._asked.append(_Asked(kind, start, time.monotonic() - start, fault))
        self._free.put(line)
        return answer
