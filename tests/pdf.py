"""Reading a PDF back: its text, its pictures, its structure."""

import io
import re
from collections.abc import Iterator

import pikepdf
import pypdfium2 as pdfium
from PIL import Image

MM = 72 / 25.4


def page_texts(pdf: bytes) -> list[str]:
    """
    The text of each page on one line, spaces made even.

    PDFium writes a hyphen at the end of a line as U+0002.
    """
    document = pdfium.PdfDocument(pdf)
    texts = [page.get_textpage().get_text_bounded() for page in document]
    return [re.sub(r"\s+", " ", text.replace("\x02", "-")).strip() for text in texts]


def pdf_text(pdf: bytes) -> str:
    """The text of all pages."""
    return " ".join(page_texts(pdf))


def page_picture(pdf: bytes, page: int = 0, dots_per_mm: float = 4) -> Image.Image:
    """A page as it is printed in colour."""
    picture = pdfium.PdfDocument(pdf)[page].render(scale=dots_per_mm / MM).to_pil()
    return picture.convert("RGB")


def opened(pdf: bytes) -> pikepdf.Pdf:
    return pikepdf.open(io.BytesIO(pdf))


def tags(document: pikepdf.Pdf) -> Iterator[pikepdf.Dictionary]:
    """Every element of the structure tree, in reading order."""
    waiting = [document.Root.StructTreeRoot.K]
    while waiting:
        node = waiting.pop()
        if isinstance(node, pikepdf.Array):
            waiting.extend(reversed(list(node)))
        elif isinstance(node, pikepdf.Dictionary):
            if "/S" in node:
                yield node
            if "/K" in node:
                waiting.append(node.K)


def fonts(document: pikepdf.Pdf) -> dict[str, pikepdf.Dictionary]:
    """Each font's name without the subset's prefix, and its descriptor."""
    found = {}
    for page in document.pages:
        for font in page.Resources.get("/Font", {}).values():
            inner = font.DescendantFonts[0] if "/DescendantFonts" in font else font
            found[str(font.BaseFont).split("+")[-1]] = inner.FontDescriptor
    return found
