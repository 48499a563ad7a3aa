"""Log lines as JSON, one object a line, for a machine that collects them."""

import json
import logging
import re
from datetime import UTC, datetime

from clinic.access.logs import WithoutMessages
from clinic.serving.asked import number_now

# Whatever looks like one of our addresses: it holds the number of a record, or a search.
ADDRESS = re.compile(r"(?<![^\s\"'(\[])/[^\s\"')\]]*")


class JsonLines(WithoutMessages):
    """
    Time (UTC), level, who says it, the text without addresses, the request's number, and what the
    caller gave as `extra={"fields": {...}}`. Errors lose their messages, as in `WithoutMessages`.
    """

    def format(self, record: logging.LogRecord) -> str:
        line: dict[str, object] = {
            "time": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "logger": record.name,
            "text": ADDRESS.sub("(address)", record.getMessage()),
        }
        # Django tells of an answer from 400 on after the middleware is through with it.
        asked = getattr(record, "request", None)
        if number := number_now() or getattr(asked, "number", ""):
            line["request"] = number
        line |= getattr(record, "fields", {})
        if record.exc_info and record.exc_info[0]:
            line["error"] = self.formatException(record.exc_info)
        return json.dumps(line, ensure_ascii=False, default=str)
