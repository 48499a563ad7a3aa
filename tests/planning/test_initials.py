"""Two letters for a person. Expected letters by hand; what one letter is by UAX 29, from memory."""

import pytest

from planning.initials import NOBODY, first_letter, initials


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("Ann Mary Example", "A.E."),
        ("Zenobia", "Z."),
        ("  ann   example ", "A.E."),
        ("Łukasz Żółć", "Ł.Ż."),
        ("O’Brien-Smith Una", "O.U."),
        ("E\u0301mile Zola", "É.Z."),
        # Right to left; the first letter is the one read first.
        ("سارة العلي", "س.ا."),
        ("김 민준", "김.민."),
        # "shri" is one letter to its readers: sha, virama, ra, vowel sign.
        ("श्रीमती देवी", "श्री.दे."),
        ("(Bob) Builder", "B.B."),
        # "ß" would become two letters.
        ("ßeta Meyer", "ß.M."),
        ("12 —", NOBODY),
        ("", NOBODY),
    ],
)
def test_initials_are_the_first_letters_of_the_first_and_last_word(name, expected):
    assert initials(name) == expected


def test_a_word_without_letters_has_no_first_letter():
    assert first_letter("(42)") == ""
