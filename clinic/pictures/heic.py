"""Reading HEIC pictures in a process apart, so that a file made to harm ends that one alone."""

import base64
import json
import subprocess
import sys
from pathlib import Path

from PIL import Image

from clinic.pictures import heic_process

# What a file says it is, behind its first four bytes and "ftyp" (ISO/IEC 23008-12, annex B).
_BRANDS = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1")
_MODES = ("L", "RGB", "RGBA")
_PATIENCE_SECONDS = 30


class HeicUnreadable(Exception):
    """The reader gave up, or was ended by the file."""


class HeicTooLarge(Exception):
    """The picture has more pixels than are read."""


def is_heic(sent: bytes) -> bool:
    """Whether the file says so."""
    return sent[4:8] == b"ftyp" and sent[8:12] in _BRANDS


def read_heic(sent: bytes, *, most_pixels: int) -> Image.Image:
    """
    The file's main picture, upright, with what the camera wrote and its colour profile.

    Raises:
        HeicTooLarge, HeicUnreadable
    """
    program = [sys.executable, "-P", str(Path(heic_process.__file__)), str(most_pixels)]
    try:
        ended = subprocess.run(  # noqa: S603 a program of ours, its argument a number
            program, input=sent, capture_output=True, env={}, timeout=_PATIENCE_SECONDS, check=False
        )
    except subprocess.TimeoutExpired as error:
        raise HeicUnreadable("no answer") from error
    if ended.returncode == heic_process.TOO_MANY_PIXELS:
        raise HeicTooLarge
    if ended.returncode != 0:
        raise HeicUnreadable(f"ended with {ended.returncode}")
    head, _, pixels = ended.stdout.partition(b"\n")
    found = json.loads(head)
    if found["mode"] not in _MODES:
        raise HeicUnreadable("pixels of another kind")
    # Fewer or more bytes than the size needs are an error of Pillow's.
    image = Image.frombytes(found["mode"], (found["width"], found["height"]), pixels)
    for name in ("exif", "icc_profile"):
        image.info[name] = base64.b64decode(found[name])
    return image
