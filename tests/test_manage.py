"""`manage.py` as a shell calls it."""

import os
import subprocess
import sys

from django.conf import settings


def test_a_reader_that_had_enough_ends_a_command_without_a_traceback():
    """As in `manage.py trace_lot LOT | head`: the pipe is closed before anything is written."""
    reader, writer = os.pipe()
    os.close(reader)
    try:
        ended = subprocess.run(
            [sys.executable, settings.BASE_DIR / "manage.py", "help"],
            stdout=writer,
            stderr=subprocess.PIPE,
            check=False,
        )
    finally:
        os.close(writer)
    assert ended.stderr == b""
    assert ended.returncode == 141  # 128 + SIGPIPE, as a shell reports it of other programs
