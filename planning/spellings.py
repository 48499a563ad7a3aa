"""
Spellings one slip of the keys away, for a name that nobody has as it was typed.

A slip is one letter left out, put in, exchanged or two neighbours swapped: most misspelt words hold
one of these. Source: F. J. Damerau, A technique for computer detection and correction of spelling
errors, Communications of the ACM 7 (1964) 171-176.
"""

from __future__ import annotations

import re
from string import ascii_lowercase

# A slip in a shorter word gives half the names of the clinic; common practice, no source.
SHORTEST = 4
LONGEST = 24
_SPELT = re.compile(rf"[a-z]{{{SHORTEST},{LONGEST}}}")


def one_slip_from(word: str) -> frozenset[str]:
    """
    Every word of a-z that is one slip away from `word`, itself left out; about 54 for each letter.

    Args:
        word: a key of `planning.names.fold`; one that is too short, too long or no plain word has
            none.
    """
    if not _SPELT.fullmatch(word):
        return frozenset()
    cuts = [(word[:at], word[at:]) for at in range(len(word) + 1)]
    left_out = {start + end[1:] for start, end in cuts if end}
    swapped = {start + end[1] + end[0] + end[2:] for start, end in cuts if len(end) > 1}
    exchanged = {start + a + end[1:] for start, end in cuts if end for a in ascii_lowercase}
    put_in = {start + a + end for start, end in cuts for a in ascii_lowercase}
    found = left_out | swapped | exchanged | put_in
    return frozenset(one for one in found if len(one) >= SHORTEST) - {word}
