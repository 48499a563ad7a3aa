"""What a sent file becomes, and which files are refused."""

import struct
import warnings
import zlib

import pytest
from PIL import Image, ImageCms, ImageFile

from records.sessions import photographs
from records.sessions.errors import PictureRefused
from records.sessions.photographs import clean_photograph, printed_photograph
from tests.records.sessions.pictures import SKY, decoded, drawing, encoded


def close(colour, expected, by: int = 12) -> bool:
    return all(abs(a - b) <= by for a, b in zip(colour, expected, strict=True))


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_three_kinds_become_jpeg(kind):
    photograph = clean_photograph(encoded(kind=kind))
    image = decoded(photograph.data)
    assert (image.format, image.mode, image.size) == ("JPEG", "RGB", (800, 600))
    assert (photograph.width, photograph.height) == (800, 600)
    assert close(image.getpixel((10, 10)), SKY)


@pytest.mark.parametrize("kind", ["GIF", "BMP", "TIFF"])
def test_other_kinds_are_refused(kind):
    with pytest.raises(PictureRefused, match="Choose a JPEG, PNG or WebP"):
        clean_photograph(encoded(kind=kind))


@pytest.mark.parametrize("sent", [b"", b"no picture", b"<svg xmlns='x'/>", b"%PDF-1.7\xff\xd8\xff"])
def test_what_is_no_picture_is_refused(sent):
    with pytest.raises(PictureRefused, match="not a picture"):
        clean_photograph(sent)


def test_heic_is_named():
    with pytest.raises(PictureRefused, match=r"HEIC.*JPEG"):
        clean_photograph(b"\x00\x00\x00\x18ftypheic" + bytes(40))


def test_long_side_is_brought_down():
    image = decoded(clean_photograph(encoded(drawing(3000, 1500))).data)
    assert image.size == (2400, 1200)


def test_a_small_picture_is_not_blown_up():
    assert clean_photograph(encoded(drawing(300, 400))).height == 400


# EXIF 2.32, tag 0x0112: where the 0th row and column of the stored picture are on the shown one.
@pytest.mark.parametrize(
    ("orientation", "blue_corner"),
    [(1, (10, 10)), (3, (790, 590)), (6, (590, 10)), (8, (10, 790))],
)
def test_orientation_is_applied(orientation, blue_corner):
    exif = Image.Exif()
    exif[0x0112] = orientation
    image = decoded(clean_photograph(encoded(exif=exif)).data)
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
    kept = clean_photograph(sent).data
    assert b"Ann" not in kept
    assert set(decoded(kept).info) == {"jfif", "jfif_version", "jfif_unit", "jfif_density"}


def test_bytes_behind_the_picture_are_dropped():
    assert b"hidden" not in clean_photograph(encoded() + b"hidden" * 100).data


def test_colours_of_another_profile_come_out_as_srgb():
    """A profile whose red and blue are exchanged: what it calls red is shown as blue."""
    red = Image.new("RGB", (64, 64), (255, 0, 0))
    image = decoded(clean_photograph(encoded(red, icc_profile=exchanged_profile())).data)
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
    image = decoded(clean_photograph(encoded(icc_profile=b"not a profile" * 20)).data)
    assert close(image.getpixel((10, 10)), SKY)


def test_what_is_transparent_becomes_white():
    image = Image.new("RGBA", (64, 64), (0, 0, 0, 0))
    assert decoded(clean_photograph(encoded(image, "PNG")).data).getpixel((9, 9)) == (255,) * 3


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
    shown = decoded(clean_photograph(encoded(image, "JPEG" if mode == "CMYK" else "PNG")).data)
    assert close(shown.getpixel((30, 30)), (255,) * 3 if mode == "1" else (128,) * 3, by=3)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_truncated_file_is_refused(kind, monkeypatch):
    """Also after the PDF writer (WeasyPrint 70) allowed half pictures for the whole process."""
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", True)
    sent = encoded(kind=kind)
    with pytest.raises(PictureRefused, match="damaged or incomplete"):
        clean_photograph(sent[: len(sent) * 2 // 3])


def test_more_bytes_than_allowed_are_refused(monkeypatch):
    monkeypatch.setattr(photographs, "MOST_BYTES", 5 * 1024 * 1024)
    with pytest.raises(PictureRefused, match="larger than 5 MB"):
        clean_photograph(encoded() + bytes(5 * 1024 * 1024))


@pytest.mark.parametrize(
    ("width", "height"),
    [(10_000, 5_001), (12_000, 12_000), (30_000, 30_000)],
    ids=["a little more", "more than Pillow warns of", "more than Pillow refuses"],
)
def test_a_bomb_is_refused_before_it_is_decoded(width, height):
    """A PNG of a few bytes that says it is huge (PNG 1.2, IHDR)."""
    warnings.simplefilter("ignore")  # where warnings are no errors, as when served
    with pytest.raises(PictureRefused, match="more than 50 megapixels"):
        clean_photograph(png(width, height))


def test_a_short_side_of_nothing_is_refused():
    with pytest.raises(PictureRefused):
        clean_photograph(png(0, 100))


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
        clean_photograph(sent[:33] + chunk + sent[33:])


def test_the_print_is_smaller():
    kept = clean_photograph(encoded(drawing(2000, 1000))).data
    assert decoded(printed_photograph(kept)).size == (1400, 700)
