"""What a sent file becomes, and which files are refused."""

import struct
import warnings
import zlib
from datetime import datetime

import pytest
from PIL import Image, ImageCms, ImageFile

from clinic.pictures import cleaning, heic
from clinic.pictures.cleaning import clean_picture, smaller_picture
from clinic.pictures.errors import PictureRefused
from tests.records.sessions.pictures import SKY, decoded, drawing, encoded
from tests.uploads.run import left_in
from tests.uploads.seeds import HEIC, MARK


def close(colour, expected, by: int = 12) -> bool:
    return all(abs(a - b) <= by for a, b in zip(colour, expected, strict=True))


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_three_kinds_become_jpeg(kind):
    photograph = clean_picture(encoded(kind=kind))
    image = decoded(photograph.data)
    assert (image.format, image.mode, image.size) == ("JPEG", "RGB", (800, 600))
    assert (photograph.width, photograph.height) == (800, 600)
    assert close(image.getpixel((10, 10)), SKY)


@pytest.mark.parametrize("kind", ["GIF", "BMP", "TIFF"])
def test_other_kinds_are_refused(kind):
    with pytest.raises(PictureRefused, match="Choose a JPEG, PNG, WebP or HEIC"):
        clean_picture(encoded(kind=kind))


@pytest.mark.parametrize("sent", [b"", b"no picture", b"<svg xmlns='x'/>", b"%PDF-1.7\xff\xd8\xff"])
def test_what_is_no_picture_is_refused(sent):
    with pytest.raises(PictureRefused, match="not a picture"):
        clean_picture(sent)


def test_a_file_that_only_says_it_is_heic_is_refused():
    with pytest.raises(PictureRefused, match="damaged or incomplete"):
        clean_picture(b"\x00\x00\x00\x18ftypheic" + bytes(40))


def test_long_side_is_brought_down():
    image = decoded(clean_picture(encoded(drawing(3000, 1500)), long_side=2400).data)
    assert image.size == (2400, 1200)


def test_without_a_limit_no_pixel_is_lost():
    assert decoded(clean_picture(encoded(drawing(3000, 1500))).data).size == (3000, 1500)


def test_a_small_picture_is_not_blown_up():
    assert clean_picture(encoded(drawing(300, 400)), long_side=2400).height == 400


# EXIF 2.32, tag 0x0112: where the 0th row and column of the stored picture are on the shown one.
@pytest.mark.parametrize(
    ("orientation", "blue_corner"),
    [(1, (10, 10)), (3, (790, 590)), (6, (590, 10)), (8, (10, 790))],
)
def test_orientation_is_applied(orientation, blue_corner):
    exif = Image.Exif()
    exif[0x0112] = orientation
    image = decoded(clean_picture(encoded(exif=exif)).data)
    assert image.size == ((600, 800) if orientation in (6, 8) else (800, 600))
    assert close(image.getpixel(blue_corner), SKY)


def test_nothing_written_into_the_file_is_kept():
    exif = Image.Exif()
    exif[0x010E] = "Ann Example in exif"
    exif.get_ifd(0x8825)[2] = (51.0, 30.0, 26.0)  # GPS latitude
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    sent = encoded(exif=exif, comment=b"Ann Example in comment", icc_profile=profile)
    assert b"Ann Example in exif" in sent
    assert b"Ann Example in comment" in sent
    kept = clean_picture(sent).data
    assert b"Ann" not in kept
    assert set(decoded(kept).info) == {"jfif", "jfif_version", "jfif_unit", "jfif_density"}


def test_bytes_behind_the_picture_are_dropped():
    assert b"hidden" not in clean_picture(encoded() + b"hidden" * 100).data


def test_colours_of_another_profile_come_out_as_srgb():
    """A profile whose red and blue are exchanged: what it calls red is shown as blue."""
    red = Image.new("RGB", (64, 64), (255, 0, 0))
    image = decoded(clean_picture(encoded(red, icc_profile=exchanged_profile())).data)
    assert close(image.getpixel((30, 30)), (0, 0, 255), by=40)


def exchanged_profile() -> bytes:
    """The sRGB profile with its red and blue primaries exchanged (ICC.1, tags rXYZ and bXYZ)."""
    profile = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    places = {}
    for index in range(struct.unpack(">I", profile[128:132])[0]):
        name, offset, size = struct.unpack(">4sII", profile[132 + 12 * index : 144 + 12 * index])
        places[name] = slice(offset, offset + size)
    red, blue = bytes(profile[places[b"rXYZ"]]), bytes(profile[places[b"bXYZ"]])
    profile[places[b"rXYZ"]], profile[places[b"bXYZ"]] = blue, red
    return bytes(profile)


def test_a_broken_profile_does_not_cost_the_picture():
    image = decoded(clean_picture(encoded(icc_profile=b"not a profile" * 20)).data)
    assert close(image.getpixel((10, 10)), SKY)


def test_what_is_transparent_becomes_white():
    image = Image.new("RGBA", (64, 64), (0, 0, 0, 0))
    assert decoded(clean_picture(encoded(image, "PNG")).data).getpixel((9, 9)) == (255,) * 3


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "CMYK", "I;16"])
def test_every_way_to_store_grey_is_read(mode):
    """Mid grey stays mid grey; 0x8000 of 0xffff is the same in 16 bits."""
    if mode == "I;16":
        image = Image.new(mode, (64, 64), 0x8000)
    elif mode == "1":
        image = Image.new("L", (64, 64), 255).convert("1")
    else:
        image = (
            Image.new("L", (64, 64), 128).convert("RGB" if mode == "CMYK" else "L").convert(mode)
        )
    shown = decoded(clean_picture(encoded(image, "JPEG" if mode == "CMYK" else "PNG")).data)
    assert close(shown.getpixel((30, 30)), (255,) * 3 if mode == "1" else (128,) * 3, by=3)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_truncated_file_is_refused(kind, monkeypatch):
    """Also after the PDF writer (WeasyPrint 70) allowed half pictures for the whole process."""
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", True)
    sent = encoded(kind=kind)
    with pytest.raises(PictureRefused, match="damaged or incomplete"):
        clean_picture(sent[: len(sent) * 2 // 3])


def test_more_bytes_than_allowed_are_refused(monkeypatch):
    monkeypatch.setattr(cleaning, "MOST_BYTES", 5 * 1024 * 1024)
    with pytest.raises(PictureRefused, match="larger than 5 MB"):
        clean_picture(encoded() + bytes(5 * 1024 * 1024))


@pytest.mark.parametrize(
    ("width", "height"),
    [(10_000, 5_001), (12_000, 12_000), (30_000, 30_000)],
    ids=["a little more", "more than Pillow warns of", "more than Pillow refuses"],
)
def test_a_bomb_is_refused_before_it_is_decoded(width, height):
    """A PNG of a few bytes that says it is huge (PNG 1.2, IHDR)."""
    warnings.simplefilter("ignore")  # where warnings are no errors, as when served
    with pytest.raises(PictureRefused, match="more than 50 megapixels"):
        clean_picture(png(width, height))


def test_a_short_side_of_nothing_is_refused():
    with pytest.raises(PictureRefused):
        clean_picture(png(0, 100))


def chunk(name: bytes, data: bytes) -> bytes:
    check = struct.pack(">I", zlib.crc32(name + data))
    return struct.pack(">I", len(data)) + name + data + check


def png(width: int, height: int) -> bytes:
    header = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
    rows = chunk(b"IDAT", zlib.compress(bytes(1000)))
    return b"\x89PNG\r\n\x1a\n" + header + rows + chunk(b"IEND", b"")


def test_a_text_bomb_is_refused():
    """A compressed text of 80 MB beside the pixels; the reader's own limit holds."""
    bomb = zlib.compress(bytes(80 * 1024 * 1024), 9)
    sent = encoded(kind="PNG")
    data = b"Comment\x00\x00" + bomb
    chunk = (
        struct.pack(">I", len(data))
        + b"zTXt"
        + data
        + struct.pack(">I", zlib.crc32(b"zTXt" + data))
    )
    with pytest.raises(PictureRefused):
        clean_picture(sent[:33] + chunk + sent[33:])


def test_the_print_is_smaller():
    kept = clean_picture(encoded(drawing(2000, 1000))).data
    assert decoded(smaller_picture(kept, long_side=1400).data).size == (1400, 700)


def test_heic_becomes_jpeg():
    """The drawing as a HEIC file (ISO/IEC 23008-12), with words and a place written into it."""
    sent = HEIC.read_bytes()
    assert MARK.encode() in sent
    picture = clean_picture(sent)
    image = decoded(picture.data)
    assert (image.format, image.size) == ("JPEG", (96, 72))
    assert close(image.getpixel((3, 3)), SKY, by=30)
    assert picture.taken_at == datetime(2026, 11, 25, 10, 0)  # noqa: DTZ001 the camera's own
    assert left_in(picture.data) == ""


def test_half_a_heic_is_refused():
    with pytest.raises(PictureRefused, match="damaged or incomplete"):
        clean_picture(HEIC.read_bytes()[:1200])


def test_a_file_that_ends_its_reader_is_refused():
    """Four bytes of the drawing's file are others: the library of pi-heif 1.4 ends its process."""
    with pytest.raises(PictureRefused, match="damaged or incomplete"):
        clean_picture((HEIC.parent / "ends_the_reader.heic").read_bytes())


def test_a_heic_of_more_pixels_than_are_read_is_refused(monkeypatch):
    monkeypatch.setattr(cleaning, "MOST_PIXELS", 96 * 72 - 1)
    with pytest.raises(PictureRefused, match="megapixels"):
        clean_picture(HEIC.read_bytes())


def test_a_heic_that_takes_too_long_is_refused(monkeypatch):
    monkeypatch.setattr(heic, "_PATIENCE_SECONDS", 0)
    with pytest.raises(PictureRefused, match="damaged or incomplete"):
        clean_picture(HEIC.read_bytes())
