"""Exit 0 when `ADDRESS PORT` can be listened on; otherwise say what to do and exit 1."""

import socket
import sys


def problem(host: str, port_text: str) -> str:
    """What stands in the way of listening there, with the way out; empty when nothing does."""
    if not port_text.isdecimal() or not 1 <= int(port_text) <= 65535:
        return f"PORT must be a number from 1 to 65535, not {port_text!r}."
    try:
        family, kind, _, _, address = socket.getaddrinfo(
            host, int(port_text), type=socket.SOCK_STREAM
        )[0]
    except socket.gaierror:
        return f"BIND must be an address of this machine, not {host!r}."
    with socket.socket(family, kind) as listener:
        # As the server does it: a port only just given up counts as free.
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listener.bind(address)
        except PermissionError:
            return f"Port {port_text} needs root. Choose a higher one: make demo PORT=8080"
        except OSError as error:
            return (
                f"Cannot listen on {host} port {port_text}: {error.strerror}.\n"
                "Perhaps the demo is running already; stop it there with Ctrl-C.\n"
                f"Or choose another port: make demo PORT={int(port_text) % 65535 + 1}"
            )
    return ""


if __name__ == "__main__":
    if message := problem(sys.argv[1], sys.argv[2]):
        sys.exit(message)
