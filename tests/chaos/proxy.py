"""
A bad line between one tablet and the server: a TCP proxy that breaks requests on demand.

It runs its own event loop in a thread. `line` says how the line is now; `faults` holds what befalls
the next requests to /charting/sync/, one each; `exchanges` keeps what was asked and answered, as it
went over the wire, for the comparison at the end.
"""

import asyncio
import contextlib
import socket
import struct
import threading
from collections import Counter, deque
from collections.abc import Callable
from dataclasses import dataclass, field

from tests.chaos.messages import Message, read_message

# What can befall a request to /charting/sync/.
LOSE_ANSWER = "answer lost"  # passed on and answered; the tablet hears nothing
CUT_ANSWER = "answer cut in the middle"
TWICE = "sent twice at once"
LATE_TWICE = "sent again after the next one"
OVERTAKEN = "overtaken by the next one"  # the tablet hears nothing and sends it anew, which passes
KILL_ON_ANSWER = "server killed at the answer's first byte"  # the answer is still delivered
KILL_AND_LOSE = "server killed at the answer's first byte, answer lost"
KILL_AT_WORK = "server killed while at work"
FAULTS = (
    LOSE_ANSWER, CUT_ANSWER, TWICE, LATE_TWICE, OVERTAKEN, KILL_ON_ANSWER, KILL_AND_LOSE,
    KILL_AT_WORK,
)  # fmt: skip
OVERTAKEN_SECONDS = 3.0
WAIT_SECONDS = 20.0
LONGEST_BYTES = 16 * 1024 * 1024
RESET_ON_CLOSE = struct.pack("ii", 1, 0)


@dataclass(frozen=True)
class Exchange:
    """One request to /charting/sync/ that reached the server; `answer` is empty without one."""

    request: dict
    answer: dict


@dataclass
class Line:
    """How the line is: open, cut (refused at once) or silent (nothing ever comes back)."""

    state: str = "open"
    latency: float = 0.0  # seconds, each way


@dataclass
class Proxy:
    """`with Proxy(server_port, kill) as proxy:`; `kill` ends the server, from any thread."""

    server_port: int
    kill: Callable[[], None]
    # Lies for the harness's own tests: an exchange before it is sent, an answer before it is given.
    tamper: Callable[[Message], Message] = lambda message: message
    forge: Callable[[dict, Message], Message] = lambda asked, message: message
    line: Line = field(default_factory=Line)
    faults: deque[str] = field(default_factory=deque)
    happened: Counter[str] = field(default_factory=Counter)
    exchanges: list[Exchange] = field(default_factory=list)
    port: int = 0

    def __enter__(self) -> "Proxy":
        self._writers: set[asyncio.StreamWriter] = set()
        self._tasks: set[asyncio.Task | None] = set()  # the loop itself holds them only weakly
        self._count = 0
        self._kept: list[tuple[int, Message]] = []
        self._changed = threading.Condition()
        self._under_way = self._silenced = 0
        started = threading.Event()
        self._thread = threading.Thread(target=lambda: asyncio.run(self._run(started)))
        self._thread.start()
        started.wait(WAIT_SECONDS)
        return self

    def __exit__(self, *_) -> None:
        self.cut()
        self._loop.call_soon_threadsafe(self._ended.set)
        self._thread.join()

    async def _run(self, started: threading.Event) -> None:
        self._loop, self._ended = asyncio.get_running_loop(), asyncio.Event()
        self._passed = asyncio.Condition()
        listening = await asyncio.start_server(self._serve, "127.0.0.1", 0, limit=LONGEST_BYTES)
        self.port = listening.sockets[0].getsockname()[1]
        started.set()
        await self._ended.wait()
        listening.close()
        tasks = asyncio.all_tasks() - {asyncio.current_task()}
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)
        await asyncio.sleep(0)  # the closed connections leave the loop

    # --- how the line is, from the harness's thread -------------------------------------------

    def cut(self, *, silent: bool = False) -> None:
        """From now on nothing gets through; what is under way is torn."""
        self.line.state = "silent" if silent else "cut"
        self._loop.call_soon_threadsafe(self._tear)

    def heal(self) -> None:
        """
        An open line without delay; connections that met silence are torn, so none hangs on.

        Faults that were ordered still come.
        """
        if self.line.state == "silent":
            self._loop.call_soon_threadsafe(self._tear)
        self.line.state, self.line.latency = "open", 0.0

    def _tear(self) -> None:
        for writer in list(self._writers):
            reset(writer)

    def settle(self) -> None:
        """Return when nothing is under way any more."""
        with self._changed:
            if not self._changed.wait_for(lambda: not self._under_way, timeout=WAIT_SECONDS):
                raise TimeoutError(f"{self._under_way} connections do not end")

    def until_silent(self, count: int) -> None:
        """Return when so many requests met silence."""
        with self._changed:
            if not self._changed.wait_for(lambda: self._silenced >= count, timeout=WAIT_SECONDS):
                raise TimeoutError(f"only {self._silenced} requests met silence")

    def _tell(self, *, under_way: int = 0, silenced: int = 0) -> None:
        with self._changed:
            self._under_way += under_way
            self._silenced += silenced
            self._changed.notify_all()

    # --- one connection -----------------------------------------------------------------------

    async def _serve(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        if self.line.state == "cut":
            reset(writer)
            return
        self._writers.add(writer)
        self._tasks.add(asyncio.current_task())
        self._tell(under_way=1)
        try:
            if request := await read_message(reader):
                await self._relay(request, writer)
        except (ConnectionError, OSError, asyncio.CancelledError):
            reset(writer)  # cancelled: the run is over
        finally:
            self._writers.discard(writer)
            self._tasks.discard(asyncio.current_task())
            with contextlib.suppress(ConnectionError, OSError):
                writer.close()
            self._tell(under_way=-1)

    async def _relay(self, request: Message, writer: asyncio.StreamWriter) -> None:
        if self.line.state == "silent":
            self._tell(silenced=1)
            await writer.wait_closed()
            return
        await asyncio.sleep(self.line.latency)
        if not request.is_sync:
            answer = await self._ask(request)
        else:
            fault = self.faults.popleft() if self.faults else ""
            answer = await self._ask_with(fault, request, writer)
            await self._one_more_passed()
        await asyncio.sleep(self.line.latency)
        if answer is None or self.line.state != "open":
            reset(writer)
            return
        writer.write(answer.raw)
        await writer.drain()

    async def _ask_with(self, fault: str, request: Message, writer) -> Message | None:
        """The server's answer to a sync request that meets `fault`; None when it gets lost."""
        if fault:
            self.happened[fault] += 1
        if fault == OVERTAKEN:
            reset(writer)
            await self._until_next_passed()
            await self._ask(request)
            return None
        if fault == KILL_AT_WORK:
            # Somewhere between the request's arrival and the end of its work.
            self._loop.call_later(0.001 * (self.happened[fault] * 7 % 23), self.kill)
            return await self._ask(request)
        kill = fault in {KILL_ON_ANSWER, KILL_AND_LOSE}
        answer = await self._ask(request, kill=kill)
        if fault == TWICE:
            answer = await self._ask(request) or answer
        if fault == LATE_TWICE:
            self._kept.append((self._count + 1, request))
        if fault in {LOSE_ANSWER, KILL_AND_LOSE}:
            return None
        if fault == CUT_ANSWER and answer is not None:
            writer.write(answer.raw[: len(answer.raw) // 2])
            await writer.drain()
            return None
        return answer

    async def _until_next_passed(self) -> None:
        seen = self._count
        async with self._passed:
            with contextlib.suppress(TimeoutError):
                passed = self._passed.wait_for(lambda: self._count > seen)
                await asyncio.wait_for(passed, OVERTAKEN_SECONDS)

    async def _one_more_passed(self) -> None:
        self._count += 1
        async with self._passed:
            self._passed.notify_all()
        due = [late for number, late in self._kept if number < self._count]
        self._kept = [kept for kept in self._kept if kept[0] >= self._count]
        for late in due:
            await self._ask(late)

    async def _ask(self, request: Message, *, kill: bool = False) -> Message | None:
        """Pass a request on; None when the server is away or leaves in the middle."""
        request = self.tamper(request)
        try:
            reader, writer = await asyncio.open_connection(
                "127.0.0.1", self.server_port, limit=LONGEST_BYTES
            )
        except OSError:
            return None
        try:
            writer.write(request.raw)
            await writer.drain()
            begun = await reader.read(1)
            if kill:
                self.kill()
            answer = await read_message(reader, begun)
        except OSError:
            answer = None
        finally:
            writer.close()
        if request.is_sync:
            if answer is not None and answer.is_ok:
                answer = self.forge(request.json(), answer)
            answered = answer.json() if answer is not None and answer.is_ok else {}
            self.exchanges.append(Exchange(request.json(), answered))
        return answer


def reset(writer: asyncio.StreamWriter) -> None:
    """Tear a connection: the other side sees a reset, not an orderly end."""
    if found := writer.get_extra_info("socket"):
        with contextlib.suppress(OSError):
            found.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, RESET_ON_CLOSE)
    writer.transport.abort()
