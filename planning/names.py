"""
Names, telephone numbers and dates of birth as search keys, and the question "is this the same
person?".

The same functions make the stored key and the key of what is typed, so both meet. A new version of
`anyascii` may change keys: rebuild them in the same release.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from datetime import date

from anyascii import anyascii

PHONE_TAIL_DIGITS = 9
_APOSTROPHES = "'’‘‛ʼʻʹ`´′＇"
_APOSTROPHE = re.compile(f"[{_APOSTROPHES}]")
_NOT_A_WORD = re.compile(r"[^0-9a-z]+")
# Canonical combining classes 7 to 9 (nukta, kana voicing marks, virama) are part of the letter.
_FIRST_ACCENT_CLASS = 10


def _without_accents(text: str) -> str:
    """Casefolded, accents and points dropped, letters otherwise as written."""
    decomposed = unicodedata.normalize("NFKD", text.casefold())
    kept = (char for char in decomposed if unicodedata.combining(char) < _FIRST_ACCENT_CLASS)
    return unicodedata.normalize("NFC", "".join(kept))


def fold(text: str) -> str:
    """
    Search key in a-z and 0-9, words separated by one blank.

    Case and accents go, other scripts are transliterated, apostrophes close up ("O'Brien" ->
    "obrien"), hyphens and other marks separate ("Smith-Jones" -> "smith jones"). Empty if nothing
    can be written so.
    """
    closed_up = _APOSTROPHE.sub("", text)
    latin = _APOSTROPHE.sub("", anyascii(_without_accents(closed_up)).casefold())
    return " ".join(_NOT_A_WORD.sub(" ", latin).split())


def words(full_name: str) -> tuple[str, ...]:
    """
    Distinct keys by which a name can be found, each matched from its beginning, in order of
    appearance.

    "O'Brien" gives obrien and brien; "Smith-Jones" gives smithjones, smith and jones; a name in
    another script gives the word as written (accents dropped) and its transliteration.
    """
    found: dict[str, None] = {}
    for written in full_name.split():
        pieces = _pieces(written)
        native = [piece for piece in pieces if _is_foreign(piece)]
        latin = fold(" ".join(pieces)).split()
        after_apostrophe = [fold(part) for part in _APOSTROPHE.split(written)[1:]]
        tails = [tail for part in after_apostrophe for tail in part.split()[:1]]
        for word in ["".join(native), *native, "".join(latin), *latin, *tails]:
            if word:
                found[word] = None
    return tuple(found)


def names_the_same(typed: str, full_name: str) -> bool:
    """
    Whether all that is typed is part of the full name: case, accents and left out titles or parts
    do not make it another person's.
    """
    said = set(fold(typed).split())
    return bool(said) and said <= set(fold(full_name).split())


def query_words(typed: str) -> tuple[str, ...]:
    """
    What is typed into the search, as the keys that must each begin one of `words(full_name)`.

    A word in another script looks for that spelling, not for its transliteration, which many names
    share.
    """
    found: dict[str, None] = {}
    for piece in _pieces(typed):
        for word in [piece] if _is_foreign(piece) else fold(piece).split():
            found[word] = None
    return tuple(found)


def _pieces(written: str) -> list[str]:
    """The words as written, without case, accents or apostrophes, split at other signs."""
    # Afterwards, for one letter holds an apostrophe ("ŉ").
    plain = _APOSTROPHE.sub("", _without_accents(written))
    # Letters, digits, and the marks that some scripts write their vowels with.
    return "".join(
        char if unicodedata.category(char)[0] in "LNM" else " " for char in plain
    ).split()


def _is_foreign(piece: str) -> bool:
    """Whether it holds a letter of another script than Latin."""
    return any(c.isalpha() and "LATIN" not in unicodedata.name(c, "LATIN") for c in piece)


def phone_tail(text: str) -> str:
    """
    The last nine digits reversed, so that a typed ending is a beginning of the key.

    Nine, because country code and trunk zero are written in many ways. Other marks are ignored.
    """
    digits = [str(unicodedata.decimal(char)) for char in text if char.isdecimal()]
    return "".join(reversed(digits[-PHONE_TAIL_DIGITS:]))


_BIRTH_DATE_FORMS = (
    re.compile(r"(?P<year>[0-9]{4})-(?P<month>[0-9]{2})-(?P<day>[0-9]{2})"),
    re.compile(
        r"(?P<day>[0-9]{1,2})(?P<mark>[./ -])(?P<month>[0-9]{1,2})(?P=mark)(?P<year>[0-9]{4})"
    ),
    re.compile(r"(?P<day>[0-9]{2})(?P<month>[0-9]{2})(?P<year>[0-9]{4})"),
)


def parse_birth_date(text: str) -> date | None:
    """
    A date of birth typed as YYYY-MM-DD, or day first: DD.MM.YYYY with any of ". / -" or a blank
    between, or DDMMYYYY.

    Nothing is guessed: another form, a two-digit year or a day that does not exist is None.
    """
    for form in _BIRTH_DATE_FORMS:
        match = form.fullmatch(text.strip())
        if match:
            try:
                return date(int(match["year"]), int(match["month"]), int(match["day"]))
            except ValueError:
                return None
    return None


@dataclass(frozen=True, slots=True)
class Person:
    """What the duplicate check looks at; empty text and None mean not recorded."""

    full_name: str
    birth_date: date | None = None
    phone: str = ""
    email: str = ""


def likely_duplicate(a: Person, b: Person) -> str | None:
    """
    Why two entries may be one patient, as a sentence without personal data; None if there is no
    reason.

    The rule, in order; a name counts as shared if one of its folded words is:
    1. same date of birth and a shared name;
    2. the same name and the same telephone or e-mail, even if the dates of birth differ;
    3. a shared name and the same telephone or e-mail, unless the dates of birth differ (families);
    4. the same name, and a date of birth is missing.
    Source: common practice, no source. It asks, it never merges.
    """
    words_a, words_b = set(words(a.full_name)), set(words(b.full_name))
    if not words_a & words_b:
        return None
    same_name = words_a == words_b
    name = "The name is the same" if same_name else "Part of the name is the same"
    contact = _same_contact(a, b)
    missing = a.birth_date is None or b.birth_date is None
    if not missing and a.birth_date == b.birth_date:
        return f"{name}, and the date of birth too."
    if contact and same_name and not missing:
        return f"{name}, and the {contact} too; the dates of birth differ."
    if contact and missing:
        return f"{name}, and the {contact} too."
    if same_name and missing:
        return f"{name}; a date of birth is missing."
    return None


def _same_contact(a: Person, b: Person) -> str:
    """ "telephone", "e-mail" or nothing."""
    tail = phone_tail(a.phone)
    if len(tail) == PHONE_TAIL_DIGITS and tail == phone_tail(b.phone):
        return "telephone"
    email = a.email.strip().casefold()
    return "e-mail" if email and email == b.email.strip().casefold() else ""
