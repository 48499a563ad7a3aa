"""HTTP messages as the proxy handles them: whole, one a connection."""

import asyncio
import json
from dataclasses import dataclass, replace

SYNC = "/charting/sync/"
# Hop-by-hop: the proxy speaks for itself on each side.
CLOSE = b"Connection: close\r\n"


@dataclass(frozen=True)
class Message:
    """A request or an answer: its head up to the empty line, and its body."""

    head: bytes
    body: bytes

    @property
    def raw(self) -> bytes:
        return self.head + self.body

    @property
    def first_line(self) -> str:
        return self.head.split(b"\r\n", 1)[0].decode("latin-1")

    @property
    def is_sync(self) -> bool:
        return self.first_line.startswith(f"POST {SYNC} ")

    @property
    def is_ok(self) -> bool:
        return self.first_line.split(" ")[1:2] == ["200"]

    def json(self) -> dict:
        """The body's object; empty when it is none."""
        try:
            found = json.loads(self.body)
        except ValueError:
            return {}
        return found if isinstance(found, dict) else {}

    def with_json(self, content: dict) -> "Message":
        """The same message with another body."""
        body = json.dumps(content).encode()
        length = f"Content-Length: {len(body)}\r\n".encode()
        return replace(self, head=_set(self.head, b"content-length", length), body=body)


async def read_message(reader: asyncio.StreamReader, begun: bytes = b"") -> Message | None:
    """
    The next message with its `Connection` line replaced; None when the sender left before its end.

    `begun` is what was read of it already. A body without a length ends with the connection, as an
    answer's may.
    """
    try:
        head = begun + await reader.readuntil(b"\r\n\r\n")
        length = _length(head)
        body = await (reader.read() if length is None else reader.readexactly(length))
    except (asyncio.IncompleteReadError, asyncio.LimitOverrunError, ConnectionError):
        return None
    return Message(_set(head, b"connection", CLOSE), body)


def _length(head: bytes) -> int | None:
    for line in head.lower().split(b"\r\n"):
        name, _, value = line.partition(b":")
        if name == b"content-length":
            return int(value)
    return 0 if head.split(b" ", 1)[0] in {b"GET", b"HEAD", b"POST", b"PUT"} else None


def _set(head: bytes, name: bytes, line: bytes) -> bytes:
    """The head with every line of this (lower-case) name replaced by one."""
    first, *lines = head[:-4].split(b"\r\n")
    kept = [other for other in lines if other.partition(b":")[0].lower() != name]
    return b"\r\n".join([first, *kept]) + b"\r\n" + line + b"\r\n"
