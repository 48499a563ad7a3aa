"""Codes as pictures, made worse in the ways that a hand, a lens and a dim room make them worse."""

import math
from io import BytesIO

import numpy as np
import zxingcpp
from PIL import Image, ImageDraw, ImageFilter

from tests.scan_cases import GTIN

PRINTED = f"(01){GTIN}(17)271130(10)LOT42"
PLAIN_NUMBER = GTIN[1:]
FILM_SIZE = (640, 480)
KINDS = {
    "DataMatrix": zxingcpp.BarcodeFormat.DataMatrix,
    "GS1-128": zxingcpp.BarcodeFormat.Code128,
    "QR": zxingcpp.BarcodeFormat.QRCode,
    "EAN-13": zxingcpp.BarcodeFormat.EAN13,
}


def code(kind: str = "DataMatrix", module: int = 6, text: str = PRINTED) -> Image.Image:
    """
    The code in black on white with its quiet zone, `module` pixels to its smallest square or bar.

    A Data Matrix written without `gs1` holds text that looks right and is no GS1 code.
    """
    options = {} if kind == "EAN-13" else {"gs1": True}
    if kind == "DataMatrix":
        options["force_square"] = True
    made = zxingcpp.create_barcode(
        PLAIN_NUMBER if kind == "EAN-13" else text, KINDS[kind], **options
    )
    return Image.fromarray(made.to_image(scale=module)).convert("L")


def turned(picture: Image.Image, degrees: float) -> Image.Image:
    return picture.rotate(degrees, Image.Resampling.BICUBIC, expand=True, fillcolor=255)


def tilted(picture: Image.Image, degrees: float) -> Image.Image:
    """Seen from the side: the width shrinks, and the far edge more than the near one."""
    width, height = picture.size
    shrink = math.cos(math.radians(degrees))
    far = height * 0.12 * math.sin(math.radians(degrees))
    size = (max(1, round(width * shrink)), height)
    # Corners of the picture that are shown at the corners of the result, from the upper left round.
    corners = (0, 0, 0, height, width, height + far, width, -far)
    return picture.transform(
        size, Image.Transform.QUAD, corners, Image.Resampling.BICUBIC, fillcolor=255
    )


def blurred(picture: Image.Image, radius: float) -> Image.Image:
    return picture.filter(ImageFilter.GaussianBlur(radius))


def pale(picture: Image.Image, contrast: float) -> Image.Image:
    """`contrast` of the difference between black and white is left, in the middle of the greys."""
    return picture.point(lambda grey: round(128 + (grey - 128) * contrast))


def noisy(picture: Image.Image, spread: float) -> Image.Image:
    """Normal noise of this standard deviation, in steps of grey; the same in every run."""
    noise = np.random.default_rng(1).normal(0, spread, (picture.height, picture.width))
    return Image.fromarray(np.clip(np.asarray(picture) + noise, 0, 255).astype(np.uint8))


def inverted(picture: Image.Image) -> Image.Image:
    return picture.point(lambda grey: 255 - grey)


def on_a_table(picture: Image.Image, size: tuple[int, int] = (4000, 3000)) -> Image.Image:
    """A photograph of 12 megapixels: the code off the middle, and things that are no code."""
    photo = Image.new("L", size, 150)
    draw = ImageDraw.Draw(photo)
    for step in range(0, size[0], 130):
        draw.line([(step, 0), (step - 900, size[1])], fill=135 + step % 40, width=9)
    draw.rectangle([300, 300, 1300, 1100], fill=235)
    for row in range(8):
        draw.rectangle([380, 380 + row * 80, 900 + row * 30, 410 + row * 80], fill=60)
    photo.paste(picture, (2300, 1700))
    return photo


def film(picture: Image.Image) -> bytes:
    """One picture as a film (YUV4MPEG2) that Chromium plays over and over instead of a camera."""
    frame = Image.new("L", FILM_SIZE, 190)
    left, top = FILM_SIZE[0] - picture.width, FILM_SIZE[1] - picture.height
    frame.paste(picture, (left // 2, top // 2))
    colourless = bytes([128]) * (FILM_SIZE[0] * FILM_SIZE[1] // 2)
    head = b"YUV4MPEG2 W%d H%d F10:1 Ip A1:1 C420jpeg\n" % FILM_SIZE
    return head + b"FRAME\n" + frame.tobytes() + colourless


def png(picture: Image.Image) -> bytes:
    held = BytesIO()
    picture.save(held, "PNG", compress_level=1)
    return held.getvalue()
