"""What is being answered at this moment, for whoever writes a line about it."""

import secrets
from contextvars import ContextVar
from dataclasses import dataclass

NUMBER_BYTES = 6


@dataclass(slots=True)
class Asked:
    """
    One request.

    Attributes:
        number: what a person quotes and a log line is found by; of our own making, because one
            that is sent along could say anything.
    """

    number: str


current: ContextVar[Asked | None] = ContextVar("asked", default=None)


def new_asked() -> Asked:
    return Asked(number=secrets.token_hex(NUMBER_BYTES))


def number_now() -> str:
    asked = current.get()
    return asked.number if asked else ""
