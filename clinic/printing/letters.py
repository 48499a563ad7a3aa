"""
Letters that the fonts of a document do not hold.

A system font would step in on one machine and an empty box on the next, so such letters are taken
out before printing and the document says so.
"""

import re
import unicodedata
from functools import cache

from django.conf import settings
from fontTools.ttLib import TTFont

STAND_IN = "[?]"

_FACE = re.compile(r'@font-face \{.+?url\("([^"]+)"\)(.+?)\}', re.DOTALL)
_RANGE = re.compile(r"U\+([0-9A-F]+)(?:-([0-9A-F]+))?")
# Control and format characters (line ends, direction marks, joiners) need no glyph.
_WITHOUT_GLYPH = {"Cc", "Cf", "Zl", "Zp"}


@cache
def printable_letters() -> frozenset[str]:
    """Every letter that a face of `static/css/fonts.css` holds and is asked for."""
    folder = settings.BASE_DIR / "static" / "css"
    letters: set[int] = set()
    for file, face in _FACE.findall((folder / "fonts.css").read_text()):
        with TTFont(folder / file, lazy=True) as font:
            held = font.getBestCmap().keys()
        for first, last in _RANGE.findall(face):
            letters.update(held & set(range(int(first, 16), int(last or first, 16) + 1)))
    return frozenset(map(chr, letters))


def unprintable(text: str) -> frozenset[str]:
    """The letters of `text` that no font of the documents holds."""
    strange = set(unicodedata.normalize("NFC", text)) - printable_letters()
    return frozenset(
        letter for letter in strange if unicodedata.category(letter) not in _WITHOUT_GLYPH
    )


def without(letters: frozenset[str], text: str) -> str:
    """`text` with a visible stand-in for each run of `letters`."""
    text = unicodedata.normalize("NFC", text)
    if not letters:
        return text
    return re.sub(f"[{re.escape(''.join(sorted(letters)))}]+", STAND_IN, text)
