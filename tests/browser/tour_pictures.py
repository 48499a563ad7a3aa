"""Where the pictures of the README are kept, and how a page becomes one."""

from io import BytesIO
from pathlib import Path

import pypdfium2
from PIL import Image
from playwright.sync_api import Page, expect

FOLDER = Path(__file__).parents[2] / "docs" / "tour"
MOST_BYTES = 250_000
# From here on a picture is kept in fewer colours, so that all of them stay light together.
LARGE_BYTES = 190_000


def keep(picture: Image.Image, name: str) -> None:
    """Write docs/tour/<name>.png; a picture that is too large for the README in fewer colours."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    path = FOLDER / f"{name}.png"
    picture.convert("RGB").save(path, optimize=True)
    if path.stat().st_size > LARGE_BYTES:
        picture.convert("RGB").quantize(256, dither=Image.Dither.NONE).save(path, optimize=True)
    assert path.stat().st_size <= MOST_BYTES, f"{path} is {path.stat().st_size} bytes"


def shoot(page: Page, name: str) -> None:
    page.wait_for_load_state("networkidle")
    expect(page.locator("[data-panel-state]")).to_have_count(0)
    page.evaluate("() => document.fonts.ready.then(() => null)")
    keep(Image.open(BytesIO(page.screenshot(animations="disabled"))), name)


def keep_sheet(pdf: bytes, name: str, number: int = 0) -> None:
    """One page of a document, counted from 0."""
    keep(pypdfium2.PdfDocument(pdf)[number].render(scale=1.25).to_pil(), name)
