"""Finding a patient as the front desk types, on both databases alike."""

from datetime import date

import pytest
from django.utils import timezone
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from planning.names import Person, words
from records.patients.models import Patient, PatientWord
from records.patients.queries import (
    alerts_by_level,
    find_patients,
    latest_patients,
    likely_duplicates,
)
from records.patients.services import end_alert, save_patient
from tests.factories import make_alert, make_patient

pytestmark = pytest.mark.django_db


def names(typed: str, **options) -> list[str]:
    return [patient.full_name for patient in find_patients(typed, **options).patients]


@pytest.mark.parametrize(
    ("full_name", "typed"),
    [
        ("José Álvarez", "jose"),
        ("José Álvarez", "JOSÉ alv"),
        ("José Álvarez", "alvarez jo"),
        ("Siobhán O'Brien", "obrien"),
        ("Siobhán O'Brien", "o'brien"),
        ("Siobhán O'Brien", "o’bri"),
        ("Siobhán O'Brien", "brien sio"),
        ("Øyvind Bjørnstad", "oyvind"),
        ("Øyvind Bjørnstad", "bjorn øy"),
        ("Đặng Thị Hương", "dang"),
        ("Đặng Thị Hương", "huong thi"),
        ("Łukasz Dąbrowski", "lukasz"),
        ("Łukasz Dąbrowski", "dabr ł"),
        ("Maria von der Heiden-Lichtenberg zu Altenburg", "lichten maria"),
        ("Maria von der Heiden-Lichtenberg zu Altenburg", "zu der von"),
        ("Maria von der Heiden-Lichtenberg zu Altenburg", "heidenlicht alt"),
        ("Maria von der Heiden-Lichtenberg zu Altenburg", "heiden-licht"),
        ("محمد الفارسي", "محمد"),
        ("محمد الفارسي", "الفار محم"),
        ("שרה כהן", "כהן"),
        ("שרה כהן", "כה שר"),
        ("Jürgen Groß", "gross"),
    ],
)
def test_name_is_found_by_its_parts(desk, full_name, typed):
    make_patient(desk, "Zed Nobody")
    make_patient(desk, full_name)
    assert names(typed) == [full_name]


def test_transliteration_finds_a_name_in_another_script(desk):
    make_patient(desk, "Иван Петров")
    assert names("petrov iv") == ["Иван Петров"]


@pytest.mark.parametrize(
    "typed",
    [
        "0123", "946 0123", "020 7946 0123", "+44 20 7946 0123", "(020) 7946-0123", "123",
        "17.05.1980", "17/5/1980", "17 05 1980", "1980-05-17", "ann 17.05.1980", "1980-05-17 exa",
        "P000001", "p1", "1", "000001", " P000001 ",
        "known", "kno ann",
    ],
)  # fmt: skip
def test_phone_tail_birth_date_and_record_number(desk, typed):
    fields = {"phone": "+44 20 7946 0123", "known_as": "Known", "birth_date": date(1980, 5, 17)}
    make_patient(desk, "Ann Example", **fields)
    make_patient(desk, "Zed Nobody", phone="07700 900456", birth_date=date(1981, 5, 17))
    assert names(typed) == ["Ann Example"]


@pytest.mark.parametrize(
    "typed",
    [
        "", "  ", "?", "%", "_", "n%n", "xann", "nn", "ann zed", "12", "17.05.1890", "31.02.1980",
        "zed 17.05.1980", "P", "p99999999999", "9" * 40, "\x00", "exam_le", "'; --",
    ],
)  # fmt: skip
def test_nobody_is_found_by_something_else(desk, typed):
    make_patient(desk, "Ann Example", phone="+44 20 7946 0123")
    assert find_patients(typed).patients == []


def test_a_number_that_reads_as_more_than_one_thing_finds_all_of_them(desk):
    for number in range(1, 12):
        make_patient(desk, f"Sample {number}")
    make_patient(desk, "Ann Example", phone="555 011")
    make_patient(desk, "Zoë 011 Third")
    assert names("011") == ["Sample 11", "Ann Example", "Zoë 011 Third"]


def test_a_year_finds_who_was_born_in_it(desk):
    days = {"Last": (1980, 12, 31), "First": (1980, 1, 1), "Before": (1979, 12, 31),
            "After": (1981, 1, 1)}  # fmt: skip
    for name, day in days.items():
        make_patient(desk, name, birth_date=date(*day))
    assert names("1980") == ["First", "Last"]
    assert names(" 1979 ") == ["Before"]


@pytest.mark.parametrize("typed", ["1899", f"{timezone.localdate().year + 1}", "198", "19800"])
def test_no_birth_year_is_no_year(desk, typed):
    make_patient(desk, "Ann Example", birth_date=date(1980, 5, 17))
    assert names(typed) == []


def test_a_year_stands_after_the_numbers_it_may_also_be(desk):
    make_patient(desk, "Born Then", birth_date=date(1980, 5, 17))
    make_patient(desk, "Phones So", phone="020 7946 1980")
    assert names("1980") == ["Phones So", "Born Then"]


@pytest.mark.parametrize("typed", ["ann@mail.example", " Ann@Mail.Example "])
def test_a_whole_e_mail_address_finds_its_owner(desk, typed):
    make_patient(desk, "Ann Example", email="Ann@mail.example")
    make_patient(desk, "Zed Nobody", email="joann@mail.example")
    make_patient(desk, "Nobody Else")
    assert names(typed) == ["Ann Example"]


def test_names_stand_in_the_order_of_an_index(desk):
    for name in ["Maria Adams", "Mary Baker", "Peter Mark", "Mark Cole", "Mark Abel", "Ann Mar"]:
        make_patient(desk, name)
    assert names("mar") == [
        "Ann Mar", "Maria Adams", "Mark Abel", "Mark Cole", "Peter Mark", "Mary Baker",
    ]  # fmt: skip


def test_more_says_whether_the_list_is_complete(desk):
    for letter in "abc":
        make_patient(desk, f"Maria Martin {letter}")
    complete = find_patients("ma", limit=3)
    assert ([p.full_name[-1] for p in complete.patients], complete.more) == (list("abc"), False)
    cut = find_patients("ma", limit=2)
    assert ([p.full_name[-1] for p in cut.patients], cut.more) == (list("ab"), True)


def test_search_asks_the_database_the_same_few_times(desk, django_assert_num_queries):
    for letter in "abc":
        make_patient(desk, f"Maria Martin {letter}", phone="07700 900012")
    with django_assert_num_queries(2):
        find_patients("ma")
    with django_assert_num_queries(4):  # how rare each word is, the hits, the patients
        find_patients("ma a")
    with django_assert_num_queries(4):  # record number, phone, name, the patients
        find_patients("0012")


LETTERS = st.characters(codec="utf-8", categories=("Lu", "Ll", "Lo"), max_codepoint=0x1EFF)
NAMES = st.lists(st.text(LETTERS, min_size=1, max_size=12), min_size=1, max_size=5)


@settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(parts=NAMES, data=st.data())
def test_any_patient_is_found_by_any_beginnings_of_words_in_any_order(desk, parts, data):
    patient = make_patient(desk, " ".join(parts))
    found_by = words(patient.full_name)
    assume(found_by)
    chosen = data.draw(st.lists(st.sampled_from(found_by), min_size=1, max_size=4))
    typed = " ".join(word[: data.draw(st.integers(1, len(word)))] for word in chosen)
    found = find_patients(typed, limit=500)
    assert not found.more
    assert patient in found.patients, f"{typed!r} does not find {patient.full_name!r}"


def test_the_longest_name_fits_the_index(desk):
    name = " ".join(f"{chr(0x4E00 + n * 7)}{chr(0x5E00 + n * 11)}" for n in range(66))
    patient = make_patient(desk, name)
    row = PatientWord.objects.filter(patient=patient).first()
    assert len(row.name_key) <= PatientWord.NAME_KEY_LENGTH
    assert names(name.split()[65]) == [name]


def test_latest_patients_come_last_registered_first(desk):
    for name in ["Ann One", "Ann Two", "Ann Three"]:
        make_patient(desk, name)
    assert [str(p) for p in latest_patients(2)] == ["Ann Three", "Ann Two"]


BORN = date(1980, 5, 17)


@pytest.mark.parametrize(
    ("typed", "reason"),
    [
        (Person("ann example", BORN), "The name is the same, and the date of birth too."),
        (Person("Anne Example", BORN), "Part of the name is the same, and the date of birth too."),
        (
            Person("Ann Example", date(1990, 1, 1), phone="020 7946 0123"),
            "The name is the same, and the telephone too; the dates of birth differ.",
        ),
        (
            Person("Example Ann", date(1990, 1, 1), email="ANN@mail.example"),
            "The name is the same, and the e-mail too; the dates of birth differ.",
        ),
    ],
)
def test_likely_duplicate_is_found_with_its_reason(desk, typed, reason):
    make_patient(desk, "Zed Nobody", birth_date=BORN)
    ann = make_patient(desk, birth_date=BORN, phone="+44 20 7946 0123", email="Ann@mail.example")
    found = likely_duplicates(typed)
    assert [(duplicate.patient, duplicate.reason) for duplicate in found] == [(ann, reason)]


def test_family_at_one_address_and_the_patient_herself_are_no_duplicates(desk):
    ann = make_patient(desk, birth_date=BORN, phone="+44 20 7946 0123", email="home@mail.example")
    child = Person("Bob Example", date(2005, 1, 1), "020 7946 0123", "home@mail.example")
    assert likely_duplicates(child) == []
    assert likely_duplicates(Person("Ann Example", BORN), besides=ann.pk) == []


def test_empty_contact_details_make_nobody_alike(desk):
    make_patient(desk, "Ann Example", birth_date=BORN)
    assert likely_duplicates(Person("Ann Example", date(1990, 1, 1))) == []


def test_alerts_are_grouped_by_level_and_ended_ones_left_out(desk, patient):
    make_alert(desk, patient, "Prefers mornings", kind="other", level="note")
    ended = make_alert(desk, patient, "Pregnant", kind="medical", level="stop")
    make_alert(desk, patient, "Lidocaine", level="stop")
    end_alert(alert=ended, reason="Has given birth.", actor=desk)
    shown = [(level.value, [alert.text for alert in alerts]) for level, alerts in
             alerts_by_level(patient, desk)]  # fmt: skip
    assert shown == [("stop", ["Lidocaine"]), ("note", ["Prefers mornings"])]


def test_search_follows_a_renamed_patient(desk, patient):
    patient.full_name = "Ann Newname"
    save_patient(patient=patient, fields=["full_name"], actor=desk)
    assert names("newn") == ["Ann Newname"]
    assert names("exam") == []
    assert Patient.objects.count() == 1
