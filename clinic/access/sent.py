"""What was sent: a refused form's fields, so that nothing typed is lost, and a script's JSON."""

import json
from typing import Any

from django.core.exceptions import RequestDataTooBig
from django.http import HttpRequest, RawPostDataException


class NotJson(ValueError):
    """What was sent is no JSON that can be read, or holds what no database can store."""


def sent_json(request: HttpRequest) -> Any:
    """
    The JSON that a script of ours sent.

    Raises:
        NotJson: anything else: a form, bytes that are no text, more than is read at all, NaN, or
            brackets too deep to follow.
    """

    def refuse(word: str) -> None:
        raise ValueError(f"{word} is not a number")

    try:
        sent = json.loads(request.body, parse_constant=refuse)
        # A lone half of a surrogate pair is JSON, but no text that can be stored.
        json.dumps(sent, ensure_ascii=False).encode()
    except (ValueError, RecursionError, RawPostDataException, RequestDataTooBig) as error:
        raise NotJson("The request is not JSON that can be read.") from error
    return sent


def typed_fields(request: HttpRequest) -> list[tuple[str, str]] | None:
    """
    Name and value of every field that was sent; one that holds several values comes again.

    None where nothing may go back: a password is among them. Whoever shows them must know that the
    form is one of ours, for its owner will send it again with one press.
    """
    if any("password" in name for name in request.POST):
        return None
    sent = {name: values for name, values in request.POST.lists() if name != "csrfmiddlewaretoken"}
    return [(name, value) for name, values in sent.items() for value in values]
