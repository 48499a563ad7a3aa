"""
Filling a text of the clinic's own with words from the record.

A placeholder is what stands in braces on one line, {name}. Empty braces, and one without its other
half, are letters like any other. Words are put in once and never read again for placeholders, so
that a patient called "{date}" stays one. Not `str.format`, which would follow dots and brackets
into the program's own objects.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches

_PLACEHOLDER = re.compile(r"\{([^{}\n]*[^{}\s][^{}\n]*)\}")
_RIGHT_TO_LEFT = frozenset({"R", "AL"})
# First strong isolate and its end (Unicode Standard Annex 9).
_ISOLATE, _END = "\u2068", "\u2069"


class MergeError(ValueError):
    """A text that cannot be filled; the message names the placeholder and says what to do."""


@dataclass(frozen=True, slots=True)
class Placeholder:
    """
    One word that a text may leave open.

    Attributes:
        meaning: what it stands for, as a person reads it beside the text.
        example: of an invented person, for the preview.
        is_private: about a person or a product, and so never in a subject.
    """

    name: str
    meaning: str
    example: str
    is_private: bool = True

    @property
    def written(self) -> str:
        return f"{{{self.name}}}"


def placeholders(text: str) -> tuple[str, ...]:
    """What the text leaves open, each once, in the order in which it is met."""
    return tuple(dict.fromkeys(_PLACEHOLDER.findall(text)))


def has_half_braces(text: str) -> bool:
    """Whether a brace stands without its other half, or two with nothing between them."""
    return bool(re.search("[{}]", _PLACEHOLDER.sub("", text)))


def check_body(text: str, known: Collection[Placeholder]) -> None:
    """
    Raises:
        MergeError: it holds a placeholder that is none of `known`.
    """
    names = [placeholder.name for placeholder in known]
    strange = [name for name in placeholders(text) if name not in names]
    if not strange:
        return
    near = get_close_matches(strange[0].strip().lower(), names, n=1)
    hint = f" Did you mean {{{near[0]}}}?" if near else ""
    raise MergeError(
        f"{_in_braces(strange)} {'is' if len(strange) == 1 else 'are'} not known.{hint} "
        f"Known: {_in_braces(names)}."
    )


def check_subject(text: str, known: Collection[Placeholder]) -> None:
    """
    A subject is read by whoever sees the envelope or the list of e-mails.

    Raises:
        MergeError: a placeholder that is not known, or one about a person or product; more than one
            line.
    """
    if len(text.splitlines()) > 1:
        raise MergeError("The subject is one line.")
    check_body(text, known)
    used = placeholders(text)
    private = [word.name for word in known if word.is_private and word.name in used]
    if private:
        public = _in_braces(word.name for word in known if not word.is_private)
        raise MergeError(
            f"{_in_braces(private)} {'tells' if len(private) == 1 else 'tell'} about a person or a "
            "product, and everybody on the way can read a subject. Only the text may hold that; "
            f"a subject may hold {public}."
        )


def fill(text: str, words: Mapping[str, str]) -> str:
    """
    The text with its words put in. One that is written from right to left is set apart, so that it
    does not pull the signs beside it along.

    Raises:
        MergeError: a word is missing.
    """

    def word(match: re.Match[str]) -> str:
        try:
            return _set_apart(words[match[1]])
        except KeyError:
            raise MergeError(f"There is no word for {match[0]}.") from None

    return _PLACEHOLDER.sub(word, text)


def in_line(parts: Iterable[str]) -> str:
    """ "a", "a and b", "a, b and c"; each part once, in the order given."""
    listed = list(dict.fromkeys(parts))
    if len(listed) < 2:
        return "".join(listed)
    return f"{', '.join(listed[:-1])} and {listed[-1]}"


def _set_apart(word: str) -> str:
    if any(unicodedata.bidirectional(letter) in _RIGHT_TO_LEFT for letter in word):
        return f"{_ISOLATE}{word}{_END}"
    return word


def _in_braces(names: Iterable[str]) -> str:
    return ", ".join(f"{{{name}}}" for name in names)
