"""
A photograph as it came, turned into one the record keeps: pixels only, upright, sRGB, JPEG.

Nothing of the sent file is kept: no place, time, name or comment that was written into it, no
second picture behind the first. The pixels are copied to a new image, because a JPEG's comment
goes along when the opened one is saved again.
"""

import io
import warnings
from dataclasses import dataclass

from PIL import Image, ImageCms, ImageFile, ImageOps

from clinic.access.uploads import MOST_BYTES
from records.sessions.errors import PictureRefused

MOST_PIXELS = 50_000_000
LONG_SIDE = 2400
PRINTED_LONG_SIDE = 1400
_QUALITY = 88

# Readers for other kinds stay shut: each is one more way in.
_FORMATS = ["JPEG", "PNG", "WEBP"]
_KINDS = "Choose a JPEG, PNG or WebP picture."
_HEIC = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1")


@dataclass(frozen=True)
class Photograph:
    """JPEG bytes, and their size in pixels."""

    data: bytes
    width: int
    height: int


def clean_photograph(sent: bytes) -> Photograph:
    """
    The picture of `sent`, at most LONG_SIDE pixels long.

    Raises:
        PictureRefused: too large, not a whole JPEG, PNG or WebP picture.
    """
    if len(sent) > MOST_BYTES:
        raise PictureRefused(too_large())
    if sent[4:8] == b"ftyp" and sent[8:12] in _HEIC:
        raise PictureRefused(
            "HEIC pictures cannot be read here. Set the camera to JPEG (“most compatible”), or "
            "choose a JPEG picture."
        )
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            return _jpeg(_upright(_opened(sent)), LONG_SIDE)
    except PictureRefused:
        raise
    except Image.UnidentifiedImageError as error:
        raise PictureRefused(f"This file is not a picture that can be read. {_KINDS}") from error
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise PictureRefused(_too_many_pixels()) from error
    except Exception as error:
        # Bytes made to harm end in almost any exception of a decoder; none of them is ours.
        raise PictureRefused(
            "This picture is damaged or incomplete. Take it again, or choose another one."
        ) from error


def too_large() -> str:
    return (
        f"The picture is larger than {MOST_BYTES // 1024 // 1024} MB. Choose a smaller one, or "
        "take it with a lower resolution."
    )


def printed_photograph(kept: bytes) -> bytes:
    """A kept photograph made small enough for paper: JPEG bytes."""
    with Image.open(io.BytesIO(kept), formats=["JPEG"]) as image:
        return _jpeg(image.convert("RGB"), PRINTED_LONG_SIDE).data


def _opened(sent: bytes) -> Image.Image:
    """The first picture of the file, decoded to its last row."""
    image = Image.open(io.BytesIO(sent), formats=_FORMATS)
    if image.width * image.height > MOST_PIXELS:
        raise PictureRefused(_too_many_pixels())
    # A JPEG is decoded at a half or a quarter where that is still large enough.
    image.draft(None, (LONG_SIDE, LONG_SIDE))
    # The PDF writer switches this on for the whole process; half a picture would then pass.
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    image.load()
    return image


def _upright(image: Image.Image) -> Image.Image:
    """Turned as the camera was held, in sRGB, on white where it was transparent."""
    profile = image.info.get("icc_profile")
    image = ImageOps.exif_transpose(image)
    if image.mode.startswith("I;16"):
        image = image.point(lambda value: value * (1 / 256)).convert("L")
    if image.has_transparency_data:
        over = image.convert("RGBA")
        image = Image.new("RGB", over.size, "white")
        image.paste(over, mask=over.getchannel("A"))
    if image.mode not in {"L", "RGB", "CMYK"}:
        image = image.convert("RGB")
    return _in_srgb(image, profile).convert("RGB")


def _in_srgb(image: Image.Image, profile: bytes | None) -> Image.Image:
    """Without a profile, or with one that does not fit, the numbers are taken for sRGB."""
    if not profile:
        return image
    try:
        return (
            ImageCms.profileToProfile(
                image,
                ImageCms.ImageCmsProfile(io.BytesIO(profile)),
                ImageCms.createProfile("sRGB"),
                outputMode="RGB",
            )
            or image
        )
    except (ImageCms.PyCMSError, OSError):
        return image


def _jpeg(image: Image.Image, long_side: int) -> Photograph:
    image.thumbnail((long_side, long_side), Image.Resampling.LANCZOS)
    clean = Image.new("RGB", image.size)
    clean.paste(image)
    written = io.BytesIO()
    clean.save(written, "JPEG", quality=_QUALITY, optimize=True)
    return Photograph(written.getvalue(), clean.width, clean.height)


def _too_many_pixels() -> str:
    return (
        f"The picture has more than {MOST_PIXELS // 1_000_000} megapixels. Choose a smaller one, "
        "or take it with a lower resolution."
    )
