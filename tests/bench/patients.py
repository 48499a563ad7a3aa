"""
Patient search: a clinic of very many patients, and what a search costs there.

Names are drawn so that few are very common and many are rare (Zipf's law, rank shifted by 8): about
1 in 60 has the commonest family name. The same every time.
"""

import random
import statistics
from collections.abc import Iterator
from datetime import date, timedelta
from functools import cache, partial
from itertools import accumulate, islice

from django.db import connection, transaction

from planning.names import phone_tail, words
from tests.bench.building import progress
from tests.bench.results import MILLISECONDS, Result, interleaved, summed_up

BATCH = 20_000
GIVEN = """
Oliver Amelia George Isla Noah Ava Arthur Mia Harry Ivy Leo Lily Jack Isabella Charlie Rosie
Muhammad Sophia Jacob Grace Oscar Freya Henry Willow Thomas Florence Freddie Emily James Ella
William Poppy Alfie Evie John Mary David Margaret Michael Susan Peter Patricia Paul Jennifer Mark
Elizabeth Andrew Linda Simon Barbara Stephen Sarah Richard Karen Anthony Christine Martin Anne
Robert Julie José María Ahmed Fatima Yusuf Aisha Wei Mei Hiroshi Yuki Øyvind Łukasz Zoë Chloé محمد
فاطمة דוד שרה
"""
FAMILY = """
Smith Jones Williams Taylor Brown Davies Evans Wilson Thomas Johnson Roberts Robinson Thompson
Wright Walker White Edwards Hughes Green Hall Lewis Harris Clarke Patel Jackson Wood Turner Martin
Cooper Hill Ward Morris Moore Clark Lee King Baker Harrison Morgan Allen James Scott Phillips
Watson Davis Parker Price Bennett Young Griffiths Mitchell Kelly Cook Carter Richardson Bailey
Collins Bell Shaw Murphy Miller Cox Richards Khan Marshall Anderson Simpson Ellis Adams Singh
Begum Wilkinson O'Brien O'Connor García Müller Đặng Nguyễn Kowalski Østergaard חיים علي
"""
HEADS = "b c d f g h j k l m n p r s t v w br ch gr sh st th tr"
ENDS = "a e i o u ai ar el en er in on or"
SYLLABLES = [head + end for head in HEADS.split() for end in ENDS.split()]
WORD_COLUMNS = ("patient_id", "word", "name_key")
PATIENT_COLUMNS = (
    "id", "record_number", "full_name", "known_as", "birth_date", "sex", "phone", "phone_tail",
    "email", "address", "preferred_channel", "created_at",
)  # fmt: skip


def invented(random_: random.Random, count: int) -> list[str]:
    """So many distinct invented names of two or three syllables."""
    names: dict[str, None] = {}
    while len(names) < count:
        parts = random_.choices(SYLLABLES, k=random_.choice((2, 2, 3)))
        names["".join(parts).capitalize()] = None
    return list(names)


class Draw:
    """Draws names, the first ones most often."""

    def __init__(self, random_: random.Random, names: list[str]) -> None:
        self.random, self.names = random_, names
        self.weights = list(accumulate(1 / (rank + 8) for rank in range(len(names))))

    def __call__(self, count: int) -> Iterator[str]:
        return iter(self.random.choices(self.names, cum_weights=self.weights, k=count))


@cache
def words_of(written: str) -> tuple[str, ...]:
    return words(written)


def full_names(random_: random.Random, count: int) -> Iterator[str]:
    """Names of two words; one in ten has three, one in twenty a double family name."""
    given = Draw(random_, GIVEN.split() + invented(random_, 4_000))(3 * count)
    family = Draw(random_, FAMILY.split() + invented(random_, 40_000))(3 * count)
    for _ in range(count):
        kind = random_.random()
        last = next(family)
        if kind < 0.05:
            last = f"{last}-{next(family)}"
        middle = f"{next(given)} " if 0.05 <= kind < 0.15 else ""
        yield f"{next(given)} {middle}{last}"


def rows(count: int, first: int) -> Iterator[tuple[tuple, list[tuple]]]:
    """The row of each patient, and the rows of the name's words."""
    from records.patients.services import name_key

    random_ = random.Random(20261125)  # noqa: S311
    oldest = date(1935, 1, 1)
    for number, name in enumerate(full_names(random_, count), first):
        found_by = tuple(dict.fromkeys(w for part in name.split() for w in words_of(part)))
        key = name_key(found_by)
        born = oldest + timedelta(days=random_.randrange(26_000))
        phone = f"07{random_.randrange(10**9):09d}"
        patient = (
            number, f"P{number:06d}", name, "", born.isoformat(), "not_stated", phone,
            phone_tail(phone), "", "", "phone", "2026-11-25 09:00:00+00:00",
        )  # fmt: skip
        yield patient, [(number, word, key) for word in found_by]


def build(count: int) -> None:
    """
    Add `count` patients, then let the database look at what it has.

    Goes round the services, which would take hours; tests/bench/test_patients.py compares its rows
    with theirs.
    """
    from clinic.database.models import next_numbers

    first = next_numbers("patient", count)[0]
    made = rows(count, first)
    done = 0
    while batch := list(islice(made, BATCH)):
        with transaction.atomic():
            _insert("records_patient", PATIENT_COLUMNS, [patient for patient, _ in batch])
            _insert("records_patientword", WORD_COLUMNS, [w for _, found in batch for w in found])
        done += len(batch)
        if done % (5 * BATCH) == 0:
            progress("patients", done, count)
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SELECT setval('records_patient_id_seq', %s)", [first + count - 1])
            cursor.execute("VACUUM ANALYZE records_patient")
            cursor.execute("VACUUM ANALYZE records_patientword")
        else:
            cursor.execute("ANALYZE")


def _insert(table: str, columns: tuple[str, ...], values: list[tuple]) -> None:
    names = ", ".join(columns)
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            with cursor.copy(f"COPY {table} ({names}) FROM STDIN") as copy:
                for row in values:
                    copy.write_row(row)
        else:
            marks = ", ".join(["%s"] * len(columns))
            cursor.executemany(f"INSERT INTO {table} ({names}) VALUES ({marks})", values)


# What is typed, by the letters of each word; drawn from the names of patients, common and rare.
TYPED = {"2 letters": (2,), "3 letters": (3,), "5 letters": (5,), "2 and 2 letters": (2, 2),
         "3 and 3 letters": (3, 3)}  # fmt: skip
ASKED, SHOWN = 200, 20
GOAL_MS = 10
FIELDS = ", ".join(f"p.{name}" for name in ("id", "record_number", "full_name", "known_as",
    "birth_date", "sex", "phone", "phone_tail", "email", "address", "preferred_channel",
    "weight_g", "created_at"))  # fmt: skip


def measure() -> list[Result]:
    """Milliseconds of a search, by what is typed; the ratio to SQL by hand is in the note."""
    random_ = random.Random(7)  # noqa: S311
    typed = {what: _typed(random_, letters) for what, letters in TYPED.items()}
    typed["2 letters, no match"] = [f"zq{text}" for text in typed["2 letters"]]
    typed["2 words, no match"] = [f"{text} zq" for text in typed["2 letters"]]
    return [_timed(what, texts) for what, texts in typed.items()]


def _typed(random_: random.Random, letters: tuple[int, ...]) -> list[str]:
    """Beginnings of words of patients drawn at random."""
    from records.patients.models import Patient

    last = Patient.objects.latest("pk").pk
    texts = []
    while len(texts) < ASKED:
        name = Patient.objects.filter(pk=random_.randint(1, last)).first()
        found_by = words(name.full_name) if name else ()
        if len(found_by) >= len(letters):
            chosen = random_.sample(found_by, len(letters))
            texts.append(" ".join(w[:n] for w, n in zip(chosen, letters, strict=True)))
    return texts


def _timed(what: str, texts: list[str]) -> Result:
    from records.patients.models import Patient
    from records.patients.queries import find_patients

    ours, by_hand = [], []
    for text in texts:
        found = find_patients(text, SHOWN)
        by_hand_found = {row[0] for row in search_by_hand(text)}
        assert found.more or {patient.pk for patient in found.patients} == by_hand_found
        seconds = interleaved(
            3, ours=partial(find_patients, text, SHOWN), by_hand=partial(search_by_hand, text)
        )
        # The middle of three, so that p95 speaks of the texts and not of the machine's other work.
        ours.append(1000 * statistics.median(seconds["ours"]))
        by_hand.append(1000 * statistics.median(seconds["by_hand"]))
    ratio = statistics.median(ours) / statistics.median(by_hand)
    return summed_up(
        f"Search among {Patient.objects.count():,} patients: {what}",
        ours,
        unit=MILLISECONDS,
        goal=GOAL_MS,
        judged="p95",
        note=f"{ratio:.2f} times SQL by hand ({statistics.median(by_hand):.2f} ms)",
    )


def search_by_hand(text: str) -> list[tuple]:
    """The same kind of answer by the driver alone: one statement, the longest word leads."""
    lead, *others = sorted(text.split(), key=len, reverse=True)
    mark = {"sqlite": "?", "postgresql": "%s"}[connection.vendor]
    also = "".join(f" AND w.name_key LIKE {mark}" for _ in others)
    statement = (
        f"SELECT {FIELDS} FROM (SELECT w.word, w.name_key, w.patient_id FROM records_patientword w "
        f"WHERE w.word >= {mark} AND w.word < {mark}{also} "
        f"ORDER BY w.word, w.name_key, w.patient_id LIMIT {2 * SHOWN + 2}) AS hit "
        # A join may answer in any order.
        "JOIN records_patient p ON p.id = hit.patient_id "
        "ORDER BY hit.word, hit.name_key, hit.patient_id"
    )
    values = [lead, f"{lead}\U0010ffff", *(f"% {word}%" for word in others)]
    cursor = connection.connection.cursor()
    try:
        return cursor.execute(statement, values).fetchall()
    finally:
        cursor.close()
