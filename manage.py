#!/usr/bin/env python
"""Run a management command of the clinic."""

import os
import signal
import sys


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "clinic.settings")
    from django.core.management import execute_from_command_line

    try:
        execute_from_command_line(sys.argv)
        sys.stdout.flush()
    except BrokenPipeError:
        # Whoever reads had enough, as `head` does. Python would write once more at its end.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(128 + signal.SIGPIPE)


if __name__ == "__main__":
    main()
