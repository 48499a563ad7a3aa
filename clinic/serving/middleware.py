"""The first to see a request and the last to see its answer: a number, a log line, the figures."""

import contextlib
import logging
import time

from clinic.serving import asked, figures

logger = logging.getLogger("clinic.requests")

STATIC = "static"
UNKNOWN = "none"
NUMBER_HEADER = "X-Request-ID"
# A little more than the proxies of deploy/ hand on.
MOST_BYTES_READ = 32 * 2**20
PART_BYTES = 2**16


class RequestMiddleware:
    """
    Gives each request a number, and says what became of it: the route's name, never the address,
    which holds numbers of patients and what was searched for.
    """

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        now = asked.new_asked()
        mark = asked.current.set(now)
        request.number = now.number
        began = time.perf_counter()
        try:
            response = self.get_response(request)
            response[NUMBER_HEADER] = now.number
            if response.status_code >= 400 and request.method not in {"GET", "HEAD"}:
                read_to_the_end(request)
            # Nobody else's page may embed what is answered here (Fetch Standard, CORP).
            response.setdefault("Cross-Origin-Resource-Policy", "same-origin")
            self._tell(request, response, time.perf_counter() - began)
        finally:
            asked.current.reset(mark)
        return response

    def _tell(self, request, response, seconds: float) -> None:
        route = route_of(request, response)
        figures.count(request.method, route, response.status_code, seconds)
        if route == STATIC and response.status_code < 400:
            return
        logger.info(
            "answered",
            extra={
                "fields": {
                    "method": figures.method_of(request.method),
                    "route": route,
                    "status": response.status_code,
                    "ms": round(seconds * 1000),
                    "person": _person(request),
                }
            },
        )


def read_to_the_end(request) -> None:
    """
    Take in what was sent with a request that is refused unread.

    The application server hangs up on whoever still sends; a proxy then shows a fault of its own
    instead of the answer that says what was wrong.
    """
    left = MOST_BYTES_READ
    with contextlib.suppress(OSError):  # the sender has gone
        while left > 0 and (part := request.read(PART_BYTES)):
            left -= len(part)


def route_of(request, response) -> str:
    match = getattr(request, "resolver_match", None)
    if match is not None:
        return match.view_name or UNKNOWN
    # whitenoise answers before a route is looked for, and marks its answers so.
    return STATIC if hasattr(response, "file_to_stream") else UNKNOWN


def _person(request) -> int | None:
    """By number. Django keeps whom it looked up there; asking `request.user` could ask anew."""
    person = getattr(request, "_cached_user", None)
    return person.pk if person is not None else None
