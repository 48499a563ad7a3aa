"""Before the demo starts: is the port free, and what to do when it is not?"""

import socket
import subprocess
import sys
from pathlib import Path

import pytest

SCRIPT = Path(__file__).resolve().parents[2] / "scripts" / "port_is_free.py"


def ask(host: str, port: object) -> tuple[int, str]:
    done = subprocess.run(
        [sys.executable, SCRIPT, host, str(port)], capture_output=True, text=True, check=False
    )
    assert "Traceback" not in done.stderr
    return done.returncode, done.stderr


@pytest.fixture
def taken_port():
    with socket.create_server(("127.0.0.1", 0)) as server:
        yield server.getsockname()[1]


def test_a_free_port_is_silent(taken_port):
    with socket.create_server(("127.0.0.1", 0)) as server:
        given_up = server.getsockname()[1]
    assert ask("127.0.0.1", given_up) == (0, "")


def test_a_taken_port_names_the_way_out(taken_port):
    status, message = ask("127.0.0.1", taken_port)
    assert status == 1
    assert f"Cannot listen on 127.0.0.1 port {taken_port}: Address already in use." in message
    assert f"make demo PORT={taken_port % 65535 + 1}" in message


@pytest.mark.parametrize("port", ["0", "65536", "-1", "eight", ""])
def test_what_is_no_port_is_refused(port):
    status, message = ask("127.0.0.1", port)
    assert status == 1
    assert message == f"PORT must be a number from 1 to 65535, not {port!r}.\n"


def test_an_address_that_is_none_is_refused():
    status, message = ask("not an address", 8000)
    assert status == 1
    assert message == "BIND must be an address of this machine, not 'not an address'.\n"
