"""What is wrong with an answer, whatever was sent."""

import re

from django.http import HttpResponseBase

# Words of a database, of a driver or of Python that no page of ours says.
LEAKS = re.compile(
    r"Traceback \(most recent|IntegrityError|OperationalError|DataError|ProgrammingError|"
    r"psycopg|sqlite3\.|UNIQUE constraint|CHECK constraint failed|"
    r"violates (?:unique|check|foreign)|DETAIL:  |ValidationError|DoesNotExist|"
    r"object at 0x[0-9a-f]{6}"
)


def problem_of(answer: HttpResponseBase) -> str:
    """In words; empty if nothing."""
    if answer.status_code >= 500:
        error = getattr(answer, "exc_info", None)
        return f"answered with {answer.status_code}: {error[1]!r}" if error else "a server error"
    is_text = answer.headers.get("Content-Type", "").startswith("text/")
    return "" if answer.streaming or not is_text else leak_in(answer.content)


def leak_in(content: bytes) -> str:
    found = LEAKS.search(content.decode("utf-8", "replace"))
    return f"says {found[0]!r}" if found else ""
