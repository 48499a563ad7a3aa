"""Every document: nothing fetched, own fonts in their true weights, PDF/UA, the same bytes."""

import io
import logging
import time

import pytest
from fontTools.ttLib import TTFont
from fontTools.varLib.instancer import instantiateVariableFont

from clinic.printing import pdf
from clinic.printing.pdf import OwnFilesOnly, render_pdf
from tests.clinic.style.test_views import ROOT
from tests.pdf import fonts, opened, page_picture, pdf_text, tags

PAGE = (
    '<html lang="en"><title>A title</title><h1>Head</h1><table><tr><th scope="col">Lot'
    "<tr><td>LOT42</table>"
)


@pytest.mark.parametrize(
    "url",
    [
        "file:///etc/passwd",
        "http://example.org/picture.png",
        "https://static.invalid/css/print.css",
        "http://static.invalid.example.org/css/print.css",
        "http://static.invalid/css/../../manage.py",
        "http://static.invalid/css/%2e%2e/%2e%2e/manage.py",
        "http://static.invalid/../clinic/settings.py",
        "http://static.invalid/js/theme.js",
        "data:text/plain,hello",
        "data:image/svg+xml;base64,PHN2Zy8+",
        "data:image/jpeg;base64,not base64",
        "print.css",
        "",
    ],
)
def test_no_address_but_the_project_s_own_files_is_read(url):
    with pytest.raises((ValueError, OSError)):
        OwnFilesOnly().fetch(url)


def test_style_sheets_and_fonts_are_read():
    css = OwnFilesOnly().fetch("http://static.invalid/css/print.css")
    assert css.read() == (ROOT / "static/css/print.css").read_bytes()
    font = OwnFilesOnly().fetch("http://static.invalid/fonts/noto-sans-hebrew.woff2")
    assert font.read() == (ROOT / "static/fonts/noto-sans-hebrew.woff2").read_bytes()


def test_a_jpeg_inside_the_document_is_read():
    found = OwnFilesOnly().fetch("data:image/jpeg;base64,/9j/4A==")
    assert found.read() == bytes.fromhex("ffd8ffe0")


@pytest.mark.parametrize(
    "html",
    [
        "<link rel=attachment href=file:///etc/passwd>Text",
        "<a rel=attachment href=file:///etc/passwd>Text</a>",
        "<img src=file:///etc/passwd alt=''>Text",
        "<img src=../../manage.py alt=''>Text",
        "<object data=file:///etc/passwd>Text</object>",
        "<style>@import 'file:///etc/passwd'; body{background:url(file:///etc/passwd)}</style>Text",
    ],
)
def test_even_raw_html_attaches_and_shows_no_file_of_the_server(html):
    printed = render_pdf(f'<html lang="en"><title>T</title>{html}')
    document = opened(printed)
    assert len(document.attachments) == 0
    assert len(document.pages[0].Resources.XObject) == 0
    assert pdf_text(printed) == "Text Page 1 of 1"
    assert b"root:" not in printed


def test_the_document_is_tagged_as_pdf_ua_1():
    """ISO 14289-1: marked content, structure, language, shown title and the identifier in XMP."""
    document = opened(render_pdf(PAGE))
    assert document.Root.MarkInfo.Marked
    assert str(document.Root.Lang) == "en"
    assert document.Root.ViewerPreferences.DisplayDocTitle
    metadata = document.open_metadata()
    assert metadata["pdfuaid:part"] == "1"
    assert metadata["dc:title"] == "A title"
    kinds = [str(tag.S) for tag in tags(document)]
    assert kinds[0] == "/Document"
    assert {"/H1", "/Table", "/TR", "/TH", "/TD"} <= set(kinds)


def test_the_same_html_gives_the_same_bytes_a_year_later(monkeypatch):
    """fontTools stamps the second into each font that it cuts."""
    printed = render_pdf(PAGE)
    later = time.time() + 365 * 86_400
    monkeypatch.setattr(time, "time", lambda: later)
    assert render_pdf(PAGE) == printed


def test_nothing_in_the_style_sheets_is_ignored(caplog):
    """Each font face once brought "Ignored `font-weight: 200 900`"."""
    with caplog.at_level(logging.DEBUG, logger="weasyprint"):
        pdf._styles.cache_clear()
        render_pdf(PAGE)
    assert [row.message for row in caplog.records if row.levelno >= logging.WARNING] == []


@pytest.mark.parametrize(("weight", "name"), [(400, "Clinic-Sans"), (700, "Clinic-Sans-Bold")])
def test_a_weight_is_a_true_cut_of_the_font_and_embedded(weight, name):
    """Compared with fontTools' own instance of the variable font."""
    html = f'<html lang="en"><title>T</title><p style="font-weight:{weight}">mm'
    document = opened(render_pdf(html))
    embedded = TTFont(io.BytesIO(fonts(document)[name].FontFile2.read_bytes()))
    with TTFont(ROOT / "static/fonts/source-sans-3-latin.woff2") as whole:
        cut = instantiateVariableFont(whole, {"wght": weight})
        width = cut["hmtx"][cut.getBestCmap()[ord("m")]][0]
    assert width in {advance for advance, _ in embedded["hmtx"].metrics.values()}


def test_bold_looks_bold():
    def ink(weight):
        html = f'<html lang="en"><title>T</title><p style="font-weight:{weight}">Lot 7741'
        return sum(255 - level for level in page_picture(render_pdf(html)).convert("L").tobytes())

    assert ink(700) > 1.2 * ink(400) > 0
