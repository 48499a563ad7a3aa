"""How the live server of these tests hands out static files: a page of the tablet asks for 150."""

import mimetypes
from pathlib import Path

from django.contrib.staticfiles import finders
from django.contrib.staticfiles.handlers import StaticFilesHandler
from django.core.handlers.wsgi import get_path_info

# What the served tool says of its hashed names; no file changes while the tests run.
KEEP = ("Cache-Control", "max-age=31536000, public, immutable")


class StaticFromMemory(StaticFilesHandler):
    """Each file is read once a run and passes no middleware; what is not there is Django's 404."""

    def __init__(self, application) -> None:
        super().__init__(application)
        self._answers: dict[str, tuple[list[tuple[str, str]], bytes]] = {}

    def __call__(self, environ, start_response):
        path = get_path_info(environ)
        if not self._should_handle(path) or environ["REQUEST_METHOD"] != "GET":
            return super().__call__(environ, start_response)
        if path not in self._answers:
            found = finders.find(self.file_path(path))
            if not found:
                return super().__call__(environ, start_response)
            self._answers[path] = _answer(Path(found))
        headers, body = self._answers[path]
        start_response("200 OK", list(headers))
        return [body]


def _answer(file: Path) -> tuple[list[tuple[str, str]], bytes]:
    body = file.read_bytes()
    kind = mimetypes.guess_type(file.name)[0] or "application/octet-stream"
    return [("Content-Type", kind), ("Content-Length", str(len(body))), KEEP], body
