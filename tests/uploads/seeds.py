"""Files to begin with: pictures of each kind that say more than their pixels, and no pictures."""

import io
import zipfile
from pathlib import Path

from PIL import Image, ImageCms, PngImagePlugin

from tests.records.sessions.pictures import drawing, encoded

# Written into every part of a file that is no pixel; it must be in nothing that is kept.
MARK = "Ann Hidden of 12 Secret Lane"
HEIC = Path(__file__).parent / "drawing.heic"
_SIZE = (96, 72)


def _exif() -> Image.Exif:
    exif = Image.Exif()
    exif[0x010E] = MARK  # ImageDescription
    exif[0x0112] = 6  # turned by a quarter
    exif.get_ifd(0x8769)[0x9003] = "2026:11:25 10:00:00"  # DateTimeOriginal
    exif.get_ifd(0x8825)[2] = (51.0, 30.0, 26.0)  # GPS latitude
    return exif


def _profile() -> bytes:
    return ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def _texts() -> PngImagePlugin.PngInfo:
    texts = PngImagePlugin.PngInfo()
    texts.add_text("Author", MARK)
    texts.add_text("Comment", MARK, zip=True)
    texts.add_itxt("Title", MARK, "en", "Title")
    return texts


def seeds() -> dict[str, bytes]:
    """Name -> bytes."""
    image = drawing(*_SIZE)
    xmp = f"<x:xmpmeta xmlns:x='adobe:ns:meta/'>{MARK}</x:xmpmeta>".encode()
    jpeg = encoded(image, exif=_exif(), comment=MARK.encode(), icc_profile=_profile(), xmp=xmp)
    frames = [drawing(*_SIZE), Image.new("RGB", _SIZE, "red")]
    moving = {"save_all": True, "append_images": frames[1:]}
    zipped = io.BytesIO()
    with zipfile.ZipFile(zipped, "w") as archive:
        archive.writestr("note.txt", MARK)
    return {
        "jpeg": jpeg,
        "progressive jpeg": encoded(image, exif=_exif(), progressive=True),
        "cmyk jpeg": encoded(image.convert("CMYK"), comment=MARK.encode()),
        "png": encoded(image, "PNG", pnginfo=_texts(), exif=_exif(), icc_profile=_profile()),
        "deep png": encoded(Image.new("I;16", _SIZE, 0x8000), "PNG", pnginfo=_texts()),
        "transparent png": encoded(image.convert("RGBA"), "PNG"),
        "moving png": encoded(frames[0], "PNG", **moving),
        "webp": encoded(image, "WEBP", exif=_exif(), xmp=xmp, icc_profile=_profile()),
        "moving webp": encoded(frames[0], "WEBP", **moving),
        "heic": HEIC.read_bytes(),
        "gif": encoded(image, "GIF", comment=MARK.encode()),
        "tiff": encoded(image, "TIFF"),
        "svg": f"<svg xmlns='http://www.w3.org/2000/svg'><script>{MARK}</script></svg>".encode(),
        "page": f"<!doctype html><title>{MARK}</title><script>alert(1)</script>".encode(),
        "pdf": b"%PDF-1.7\n" + MARK.encode(),
        "picture and archive": jpeg + zipped.getvalue(),
        "huge profile": encoded(image, "PNG", icc_profile=_profile() + bytes(2_000_000)),
    }
