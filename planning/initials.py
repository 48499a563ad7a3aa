"""
A person as two letters, for places where a name must not stand.

A letter is what a reader takes for one: the accents, vowel signs and joined letters written with it
stay with it.

Source: Unicode Standard Annex 29, rules GB9, GB9a and GB9c (Indic conjuncts), from memory.
"""

from __future__ import annotations

import unicodedata

NOBODY = "–"
# The signs that join the next letter in Devanagari, Bengali, Gujarati, Oriya, Telugu, Malayalam.
_LINKERS = frozenset("\u094d\u09cd\u0acd\u0b4d\u0c4d\u0d4d")
_JOINER = "\u200d"


def initials(full_name: str) -> str:
    """
    First letters of the first and the last word: "Ann Mary Example" -> "A.E.", one word -> "Z.".

    Signs and digits around the words are passed over; a name without any letter is NOBODY.
    """
    letters = [letter for word in full_name.split() if (letter := first_letter(word))]
    if not letters:
        return NOBODY
    ends = letters[:1] + letters[1:][-1:]
    return "".join(f"{letter}." for letter in ends)


def first_letter(word: str) -> str:
    """The first letter with all that is written on it, as a capital; "" if there is none."""
    text = unicodedata.normalize("NFC", word)
    start = next((at for at, sign in enumerate(text) if sign.isalpha()), None)
    if start is None:
        return ""
    end = start + 1
    while end < len(text) and _goes_on(text[end - 1], text[end]):
        end += 1
    letter = text[start:end]
    capital = letter.upper()
    # "ß" has no capital of its own: two letters would be no initial.
    return capital if len(capital) == len(letter) else letter


def _goes_on(before: str, sign: str) -> bool:
    """Whether `sign` is written as one with what stands before it."""
    if unicodedata.category(sign).startswith("M") or sign == _JOINER:
        return True
    return before in _LINKERS and sign.isalpha()
