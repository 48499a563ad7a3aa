"""Room for Python's frames."""

from collections.abc import Callable
from typing import ParamSpec, TypeVar

# Places on Python's stack, 8 bytes each. The piece of memory that is taken for them is as large
# again, and only what is used of it is ever there.
PLACES = 32_000

Given = ParamSpec("Given")
Answer = TypeVar("Answer")


def in_one_piece(call: Callable[Given, Answer]) -> Callable[Given, Answer]:
    """
    The same call, with all that it calls on one piece of Python's stack.

    Python gets its stack from the system in pieces of 16 KB and gives each back as soon as it is
    left. A loop that happens to call across the end of a piece does so at every turn: the rows of a
    template then take twice as long (python/cpython issue 142183; later releases of 3.13 and 3.14
    keep a piece). A first frame that claims so many places makes Python take a piece that the rest
    fits into.
    """

    def first(*args: Given.args, **kwargs: Given.kwargs) -> Answer:
        return call(*args, **kwargs)

    first.__code__ = first.__code__.replace(co_stacksize=PLACES)
    return first
