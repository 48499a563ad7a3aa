"""
A mail server that takes everything and writes down what it took, before it says so: whoever is
killed while waiting for its answer cannot know.

It speaks as much of RFC 5321 as a sender needs.
"""

import os
import random
import signal
import socketserver
import time
from email import message_from_bytes
from pathlib import Path

SLOWEST = 0.004
"""Seconds it takes for an answer at most, so that a kill meets every step of a conversation."""


class Conversation(socketserver.StreamRequestHandler):
    def handle(self) -> None:
        self._say("220 ready")
        while line := self.rfile.readline():
            word = line[:4].upper()
            if word == b"DATA":
                self._say("354 go on")
                if not self._take():
                    return
                self._say("250 taken")
            elif word == b"QUIT":
                self._say("221 bye")
                return
            else:
                self._say("250 fine")

    def _take(self) -> bool:
        lines = []
        while (line := self.rfile.readline()) != b".\r\n":
            if not line:
                return False  # the sender was killed in the middle: not taken
            lines.append(line)
        reference = message_from_bytes(b"".join(lines))["Message-ID"].strip("<>").partition("@")[0]
        os.write(self.server.taken, f"{reference}\n".encode())
        return True

    def _say(self, text: str) -> None:
        time.sleep(random.uniform(0, SLOWEST))  # noqa: S311
        try:
            self.wfile.write(f"{text}\r\n".encode())
        except OSError:
            """The sender was killed."""


class MailServer(socketserver.ThreadingTCPServer):
    allow_reuse_address = True
    daemon_threads = True

    def handle_error(self, request, client_address) -> None:
        """A connection that was cut off is what this is about."""


def start_mail_server(taken: Path) -> tuple[int, int]:
    """A process of its own that writes each reference it took into `taken`; (process, port)."""
    server = MailServer(("127.0.0.1", 0), Conversation)
    process = os.fork()
    if process == 0:
        signal.signal(signal.SIGTERM, signal.SIG_DFL)
        server.taken = os.open(taken, os.O_WRONLY | os.O_CREAT | os.O_APPEND)
        server.serve_forever()
        os._exit(0)
    server.socket.close()
    return process, server.server_address[1]
