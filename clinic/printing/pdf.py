"""
HTML to PDF by WeasyPrint, the same way for every document.

Tagged PDF/UA-1, with the project's own fonts. Nothing is fetched but files under `static/css` and
`static/fonts`, pictures inside the document, and those that the caller hands over: text typed by a
user could otherwise attach a file of the server.
"""

import base64
import os
import re
import threading
from collections.abc import Callable
from functools import cache
from urllib.parse import urlsplit

from django.conf import settings
from weasyprint import CSS, HTML
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import URLFetcher, URLFetcherResponse

# A name that can never be a real host (RFC 2606).
BASE_URL = "http://static.invalid/css/"

PICTURES_URL = "http://pictures.invalid/"

EMBEDDED = "data:image/jpeg;base64,"

STYLE_SHEETS = (
    "fonts.css", "print.css", "print-letters.css", "print-report.css", "print-record.css",
)  # fmt: skip

Pictures = Callable[[str], bytes]
"""The JPEG of a name, read when a page comes to it. KeyError for a name it does not know."""

# fontTools stamps every font that it cuts with this time instead of the clock's, so that the same
# HTML gives the same bytes (reproducible-builds.org, SOURCE_DATE_EPOCH).
os.environ.setdefault("SOURCE_DATE_EPOCH", "0")

# One font set-up for the process, because a fresh one per document leaks; hence one at a time.
_rendering = threading.Lock()


class OwnFilesOnly(URLFetcher):
    """
    Serves the style sheets and fonts of the project, JPEG pictures that stand in the document
    itself, and those of `pictures` under `PICTURES_URL`; refuses every other address.
    """

    def __init__(self, pictures: Pictures | None = None) -> None:
        super().__init__()
        self._pictures = pictures

    def fetch(self, url, headers=None):
        if url.startswith(EMBEDDED):
            content = base64.b64decode(url.removeprefix(EMBEDDED), validate=True)
            return URLFetcherResponse(url, content, {"Content-Type": "image/jpeg"})
        if self._pictures is not None and url.startswith(PICTURES_URL):
            content = self._pictures(url.removeprefix(PICTURES_URL))
            return URLFetcherResponse(url, content, {"Content-Type": "image/jpeg"})
        parts = urlsplit(url)
        folder, _, name = parts.path.strip("/").partition("/")
        known = folder in {"css", "fonts"} and "/" not in name and ".." not in name
        if f"{parts.scheme}://{parts.netloc}" != "http://static.invalid" or not known:
            raise ValueError(f"A document may only use the project's own files, not {url}")
        content = (settings.BASE_DIR / "static" / folder / name).read_bytes()
        kind = "text/css" if folder == "css" else "font/woff2"
        return URLFetcherResponse(url, content, {"Content-Type": kind})


@cache
def _fonts() -> FontConfiguration:
    return FontConfiguration()


@cache
def _styles() -> tuple[CSS, ...]:
    """The parsed style sheets of every document."""
    return tuple(_style(name) for name in STYLE_SHEETS)


def _style(name: str) -> CSS:
    css = (settings.BASE_DIR / "static" / "css" / name).read_text()
    # WeasyPrint 70 knows no range of weights and warns of each; it reads them from the font itself.
    css = re.sub(r"font-weight: \d+ \d+;", "", css)
    return CSS(
        string=css,
        base_url=f"{BASE_URL}{name}",
        font_config=_fonts(),
        url_fetcher=OwnFilesOnly(),
    )


def render_pdf(html: str, *, pictures: Pictures | None = None) -> bytes:
    """
    The document as PDF/UA-1; the same HTML gives the same bytes.

    Args:
        pictures: what stands under `PICTURES_URL`, for a document with many of them.
    """
    with _rendering:
        document = HTML(string=html, base_url=BASE_URL, url_fetcher=OwnFilesOnly(pictures))
        return document.write_pdf(
            stylesheets=list(_styles()), font_config=_fonts(), pdf_variant="pdf/ua-1"
        )
