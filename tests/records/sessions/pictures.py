"""Picture files for tests: drawings, never a person."""

import io

from PIL import Image, ImageDraw

SKY = (40, 90, 200)


def drawing(width: int = 800, height: int = 600) -> Image.Image:
    """A round face, drawn; a blue corner top left tells which way is up."""
    image = Image.new("RGB", (width, height), (236, 226, 214))
    pen = ImageDraw.Draw(image)
    pen.ellipse((width * 0.3, height * 0.1, width * 0.7, height * 0.9), fill=(222, 184, 150))
    for x in (0.42, 0.58):
        pen.ellipse(
            (width * x - 8, height * 0.4 - 8, width * x + 8, height * 0.4 + 8), fill="black"
        )
    pen.rectangle((0, 0, width * 0.1, height * 0.1), fill=SKY)
    return image


def encoded(image: Image.Image | None = None, kind: str = "JPEG", **options) -> bytes:
    """The file's bytes; options are Pillow's: quality, exif, comment, icc_profile ..."""
    written = io.BytesIO()
    (image or drawing()).save(written, kind, **options)
    return written.getvalue()


def decoded(data: bytes) -> Image.Image:
    image = Image.open(io.BytesIO(data))
    image.load()
    return image
