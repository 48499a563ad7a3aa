"""
Names as people write them and type them. Invented people; rules from common practice, no source.
"""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.names import (
    Person,
    fold,
    likely_duplicate,
    names_the_same,
    parse_birth_date,
    phone_tail,
    query_words,
    words,
)

FOLDED = [
    ("Zoë", "zoe", "accent"),
    ("ZOE\u0308", "zoe", "accent as a combining mark, upper case"),
    ("Łukasz Żółć", "lukasz zolc", "letters that do not decompose"),
    ("Ørsted Đurić", "orsted duric", "letters that do not decompose"),
    ("Weiß", "weiss", "casefold"),
    ("STRASSE", "strasse", "casefold"),
    ("İpek Işık", "ipek isik", "Turkish dotted and dotless i"),
    ("O'Brien", "obrien", "apostrophe"),
    ("O\u2019Brien", "obrien", "curly apostrophe"),
    ("Smith-Jones", "smith jones", "hyphen"),
    ("Smith\u2011Jones", "smith jones", "no-break hyphen"),
    ("  Anna   Maria ", "anna maria", "blanks"),
    ("St. John", "st john", "full stop"),
    ("Мария", "mariya", "Cyrillic"),
    ("Ελένη", "eleni", "Greek"),
    ("ﬁona", "fiona", "ligature"),
    ("がき", "gaki", "kana: the voicing mark is part of the letter"),
    ("김철수", "gimcheolsu", "Hangul"),
    ("مُحَمَّد", "mhmd", "Arabic vowel points are dropped"),
    ("", "", "nothing to write"),
]


@pytest.mark.parametrize(("text", "key", "why"), FOLDED)
def test_a_name_folds_to_plain_letters(text: str, key: str, why: str) -> None:
    assert fold(text) == key, why


WORDS = [
    ("Mary O'Brien", ("mary", "obrien", "brien")),
    ("Mary Smith-Jones", ("mary", "smithjones", "smith", "jones")),
    ("Anna Anna", ("anna",)),
    ("Мария", ("мария", "mariya")),
    ("王小明", ("王小明", "wangxiaoming")),
    ("Анна-Ева,", ("аннаева", "анна", "ева", "annaeva", "anna", "eva")),
    ("Łukasz", ("lukasz",)),
    ("ŉdlovu", ("ndlovu",)),  # decomposes into an apostrophe and an n
    ("D'Angelo-Smith", ("dangelosmith", "dangelo", "smith", "angelo")),
    ("'", ()),
    ("", ()),
]


@pytest.mark.parametrize(("name", "keys"), WORDS)
def test_a_name_gives_the_words_to_find_it_by(name: str, keys: tuple[str, ...]) -> None:
    assert words(name) == keys


def found_by(typed: str, name: str) -> bool:
    keys = words(name)
    return all(any(key.startswith(part) for key in keys) for part in query_words(typed))


FOUND = [
    ("O'Brien", "Mary O'Brien"),
    ("obrien", "Mary O'Brien"),
    ("o brien", "Mary O'Brien"),
    ("O\u2019BRIEN", "Mary O'Brien"),
    ("brien mary", "Mary O'Brien"),
    ("obr", "Mary O`Brien"),
    ("smith-jones", "Mary Smith-Jones"),
    ("smith jones", "Mary Smith-Jones"),
    ("smithjo", "Mary Smith-Jones"),
    ("jones", "Mary Smith-Jones"),
    ("zoe", "Zoë Weiß"),
    ("weiss zo", "Zoë Weiß"),
    ("ŻOŁ", "Anna Żołądek"),
    ("мар", "Мария Иванова"),
    ("МАРИЯ", "Мария Иванова"),
    ("mariya", "Мария Иванова"),
    ("محم", "محمد علي"),
    ("王", "王小明"),
    ("wangx", "王小明"),
    ("김", "김철수"),
    ("анна", "Мария-Анна Иванова"),
    ("марияан", "Мария-Анна Иванова"),
    ("Иванова, Мария", "Мария Иванова"),
    ("Иванова\x00", "Мария Иванова"),
]


@pytest.mark.parametrize(("typed", "name"), FOUND)
def test_a_patient_is_found_by_what_is_typed(typed: str, name: str) -> None:
    assert query_words(typed)
    assert found_by(typed, name)


NOT_FOUND = [("obrian", "Mary O'Brien"), ("mary smith", "Mary O'Brien"), ("李", "里奇")]


@pytest.mark.parametrize(("typed", "name"), NOT_FOUND)
def test_another_name_is_not_found(typed: str, name: str) -> None:
    assert query_words(typed)
    assert not found_by(typed, name)


def test_two_names_with_one_transliteration_stay_apart_when_typed_as_written() -> None:
    assert fold("李") == fold("里")
    assert query_words("李") != query_words("里")


@given(st.text(max_size=30))
def test_folding_is_stable_and_a_name_finds_itself(text: str) -> None:
    assert fold(fold(text)) == fold(text)
    assert set(fold(text)) <= set("abcdefghijklmnopqrstuvwxyz0123456789 ")
    assert found_by(text, text)
    keys = words(text) + query_words(text)
    assert all(key and "\x00" not in key and key == "".join(key.split()) for key in keys)


PHONES = [
    ("020 7946 0958", "859064970"),
    ("+44 20 7946 0958", "859064970"),
    ("0044 (0)20 7946-0958", "859064970"),
    ("0958", "8590"),
    ("٠٩٥٨", "8590"),
    ("none", ""),
]


@pytest.mark.parametrize(("typed", "tail"), PHONES)
def test_a_telephone_number_is_keyed_by_its_end(typed: str, tail: str) -> None:
    # Numbers reserved for fiction in the UK (020 7946 0xxx), from memory.
    assert phone_tail(typed) == tail


BIRTH_DATES = [
    ("1990-02-03", date(1990, 2, 3)),
    ("03.02.1990", date(1990, 2, 3)),
    ("03/02/1990", date(1990, 2, 3)),
    ("03 02 1990", date(1990, 2, 3)),
    ("3.2.1990", date(1990, 2, 3)),
    (" 1990-02-03 ", date(1990, 2, 3)),
    ("2004-02-29", date(2004, 2, 29)),
    ("2005-02-29", None),
    ("31.04.1990", None),
    ("02/13/1990", None),
    ("03.02/1990", None),
    ("03.02.90", None),
    ("1990/02/03", None),
    ("1990-2-3", None),
    ("03-02-1990", date(1990, 2, 3)),
    ("03021990", date(1990, 2, 3)),
    ("31041990", None),
    ("3021990", None),
    ("19900203", None),
    ("0000-01-01", None),
    ("3 Feb 1990", None),
    ("٠٣.٠٢.١٩٩٠", None),
    ("", None),
]


@pytest.mark.parametrize(("typed", "born"), BIRTH_DATES)
def test_a_date_of_birth_is_read_in_the_named_forms_only(typed: str, born: date | None) -> None:
    assert parse_birth_date(typed) == born


BORN, OTHER = date(1990, 2, 3), date(1991, 2, 3)
PHONE, MAIL = "020 7946 0958", "mary@example.org"

DUPLICATES = [
    (
        Person("Mary O'Brien", BORN),
        Person("Maria OBrien", BORN),
        "Part of the name is the same, and the date of birth too.",
    ),
    (
        Person("Mary O'Brien", BORN),
        Person("O’BRIEN mary", BORN),
        "The name is the same, and the date of birth too.",
    ),
    (
        Person("Mary Brown", BORN, PHONE),
        Person("Mary Brown", OTHER, "+44 20 7946 0958"),
        "The name is the same, and the telephone too; the dates of birth differ.",
    ),
    (
        Person("Mary Brown", None, "", MAIL),
        Person("Mary Green", BORN, "", "MARY@example.org "),
        "Part of the name is the same, and the e-mail too.",
    ),
    (
        Person("Mary Brown"),
        Person("Brown Mary", BORN),
        "The name is the same; a date of birth is missing.",
    ),
    (Person("Mary Brown", BORN, PHONE), Person("Ann Brown", OTHER, PHONE), None),  # one family
    (Person("Mary Brown", BORN), Person("Mary Brown", OTHER), None),
    (Person("Mary Brown", BORN, PHONE), Person("Ann Green", BORN, PHONE), None),
    (Person("Mary Brown"), Person("Mary Green"), None),
    (Person("Mary Brown", None, "0958"), Person("Mary Green", None, "0958"), None),  # too short
    (Person(""), Person(""), None),
]


@pytest.mark.parametrize(("a", "b", "reason"), DUPLICATES)
def test_a_likely_duplicate_is_named_with_its_reason(
    a: Person, b: Person, reason: str | None
) -> None:
    assert likely_duplicate(a, b) == reason
    assert likely_duplicate(b, a) == reason


@pytest.mark.parametrize(
    ("typed", "same"),
    [
        ("Dr Ruth Abernathy-Sato", True),
        (" dr ruth abernathy-sato ", True),
        ("Ruth", True),
        ("R\u00fath Abernathy Sato", True),
        ("Ruth Other", False),
        ("Ru", False),
        ("", False),
        ("—", False),
    ],
)
def test_a_part_of_a_name_is_the_same_person_s(typed, same):
    assert names_the_same(typed, "Dr Ruth Abernathy-Sato") is same
