"""
A picture as it came, turned into one the record keeps: pixels only, upright, sRGB, JPEG.

Nothing of the sent file is kept: no place, time, name or comment that was written into it, no
second picture behind the first. The pixels are copied to a new image, because a JPEG's comment
goes along when the opened one is saved again.
"""

import io
import warnings
from dataclasses import dataclass
from datetime import datetime

from PIL import ExifTags, Image, ImageCms, ImageFile, ImageOps

from clinic.access.uploads import MOST_BYTES
from clinic.pictures.errors import PictureRefused
from clinic.pictures.heic import HeicTooLarge, is_heic, read_heic

MOST_PIXELS = 50_000_000
PRINTED_LONG_SIDE = 1400
_QUALITY = 88

# Readers for other kinds stay shut: each is one more way in. HEIC is read in a process apart.
_FORMATS = ["JPEG", "PNG", "WEBP"]
_KINDS = "Choose a JPEG, PNG, WebP or HEIC picture."


@dataclass(frozen=True)
class CleanPicture:
    """
    JPEG bytes, and their size in pixels.

    Attributes:
        taken_at: what the camera wrote into the sent file, by its own clock and without a zone.
    """

    data: bytes
    width: int
    height: int
    taken_at: datetime | None = None


def clean_picture(sent: bytes, *, long_side: int | None = None) -> CleanPicture:
    """
    The picture of `sent`, at most `long_side` pixels long, else as large as it came.

    Raises:
        PictureRefused: too large, not a whole JPEG, PNG, WebP or HEIC picture.
    """
    if len(sent) > MOST_BYTES:
        raise PictureRefused(too_large())
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            image = _opened(sent, long_side)
            taken_at = _camera_clock(image)
            return _jpeg(_upright(image), long_side, taken_at)
    except PictureRefused:
        raise
    except Image.UnidentifiedImageError as error:
        raise PictureRefused(f"This file is not a picture that can be read. {_KINDS}") from error
    except (
        Image.DecompressionBombError, Image.DecompressionBombWarning, HeicTooLarge,
    ) as error:  # fmt: skip
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


def smaller_picture(kept: bytes, *, long_side: int) -> CleanPicture:
    """A kept picture, at most `long_side` pixels long."""
    with Image.open(io.BytesIO(kept), formats=["JPEG"]) as image:
        # A JPEG is decoded at a half, a quarter or an eighth where that is still large enough.
        image.draft("RGB", (long_side, long_side))
        return _jpeg(image.convert("RGB"), long_side)


def _opened(sent: bytes, long_side: int | None) -> Image.Image:
    """The first picture of the file, decoded to its last row."""
    if is_heic(sent):
        return read_heic(sent, most_pixels=MOST_PIXELS)
    image = Image.open(io.BytesIO(sent), formats=_FORMATS)
    if image.width * image.height > MOST_PIXELS:
        raise PictureRefused(_too_many_pixels())
    if long_side:
        image.draft(None, (long_side, long_side))
    # The PDF writer switches this on for the whole process; half a picture would then pass.
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    image.load()
    return image


def _camera_clock(image: Image.Image) -> datetime | None:
    """EXIF 2.32, tag 0x9003 "DateTimeOriginal": "2026:11:25 10:00:00"."""
    try:
        written = image.getexif().get_ifd(ExifTags.IFD.Exif).get(ExifTags.Base.DateTimeOriginal)
        return datetime.strptime(str(written), "%Y:%m:%d %H:%M:%S")  # noqa: DTZ007 none is written
    except Exception:
        # As with the pixels; a date that cannot be read costs no picture.
        return None


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


def _jpeg(
    image: Image.Image, long_side: int | None, taken_at: datetime | None = None
) -> CleanPicture:
    if long_side:
        image.thumbnail((long_side, long_side), Image.Resampling.LANCZOS)
    clean = Image.new("RGB", image.size)
    clean.paste(image)
    written = io.BytesIO()
    clean.save(written, "JPEG", quality=_QUALITY, optimize=True)
    return CleanPicture(written.getvalue(), clean.width, clean.height, taken_at)


def _too_many_pixels() -> str:
    return (
        f"The picture has more than {MOST_PIXELS // 1_000_000} megapixels. Choose a smaller one, "
        "or take it with a lower resolution."
    )
