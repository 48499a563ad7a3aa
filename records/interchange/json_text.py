"""JSON in which a decimal number stays exactly as it is."""

import json
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

_STEP = "  "


def json_text(value: Any) -> Iterator[str]:
    """
    `value` as JSON in pieces, indented, in its own order.

    A `Decimal` becomes a number with the digits it has, never by way of a float: 0.2 stays 0.2 and
    4.10 keeps its zero, which FHIR counts as precision.

    Raises:
        TypeError: a float, or another value that JSON or FHIR has no exact form for.
    """
    yield from _pieces(value, "\n")
    yield "\n"


def _pieces(value: Any, line: str) -> Iterator[str]:
    inner = line + _STEP
    if isinstance(value, dict) and value:
        mark = "{"
        for name, item in value.items():
            yield f"{mark}{inner}{json.dumps(name, ensure_ascii=False)}: "
            yield from _pieces(item, inner)
            mark = ","
        yield f"{line}}}"
    elif isinstance(value, list) and value:
        mark = "["
        for item in value:
            yield f"{mark}{inner}"
            yield from _pieces(item, inner)
            mark = ","
        yield f"{line}]"
    else:
        yield _plain(value)


def _plain(value: Any) -> str:
    if isinstance(value, Decimal) and value.is_finite():
        return f"{value:f}"
    if isinstance(value, (str, bool, int, dict, list)) or value is None:
        return json.dumps(value, ensure_ascii=False)
    raise TypeError(f"{value!r} has no exact form in JSON.")
