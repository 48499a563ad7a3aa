"""Log lines that name no patient."""

import logging
import re
import traceback

# Addresses that are a secret from here on: who reads the log must not read what they open.
SECRET_PLACES = (
    "/calendars/feed/", "/reminders/answer/", "/screening/by-link/", "/aftercare/page/",
    "/aftercare/check-in/",
)  # fmt: skip
_SECRET = re.compile(rf"({'|'.join(map(re.escape, SECRET_PLACES))})[^/\s\"'?]+")


class WithoutMessages(logging.Formatter):
    """
    Tracebacks with each error's type and place, without its message, and addresses without what
    is secret in them.

    A database's message quotes the row it refused, and a form's the value it was given.
    """

    def format(self, record: logging.LogRecord) -> str:
        return _SECRET.sub(r"\1(withheld)", super().format(record))

    def formatException(self, ei) -> str:
        _, error, _ = ei
        told = traceback.TracebackException.from_exception(error)
        return "\n".join(_lines(told))


def _lines(told: traceback.TracebackException) -> list[str]:
    earlier = told.__cause__ or (None if told.__suppress_context__ else told.__context__)
    lines = [*_lines(earlier), "which led to"] if earlier else []
    for frame in told.stack:
        lines.append(f"  {frame.filename}:{frame.lineno} in {frame.name}")
    name = told.exc_type.__qualname__ if told.exc_type else "error"
    return [*lines, f"{name} (message withheld: it may hold a patient's data)"]
