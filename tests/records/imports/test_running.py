"""From a file to patients and past treatments: looked through, taken in, killed and taken up."""

import random
from datetime import date

import pytest
from django.core.files.base import ContentFile
from django.db import IntegrityError, transaction

from clinic.audit.models import AuditEvent
from clinic.audit.queries import verify_chain
from planning.imports.columns import Kind
from records.imports.enums import RowState, State
from records.imports.errors import ImportRefused
from records.imports.models import Import, ImportedTreatment, ImportRow
from records.imports.queries.standing import standing_of
from records.imports.services import batches
from records.imports.services.acts import begin, take_all_alike, take_all_the_same
from records.imports.services.batches import carry_on, work_on
from records.imports.services.mapping import discard, map_columns
from records.imports.services.uploading import take_up
from records.imports.ticking import tick
from records.patients.models import Alert, Patient
from records.patients.queries import find_patients
from tests.factories import make_import, make_patient, refreshed
from tests.records.imports.conftest import PATIENTS, TREATMENTS


def states(taken) -> list[str]:
    return list(taken.rows.values_list("state", flat=True))


def test_the_dry_run_says_what_would_become_of_each_row_and_takes_nothing_in(owner):
    before = AuditEvent.objects.count()
    taken = make_import(owner, PATIENTS, to=State.CHECKED)
    assert states(taken) == ["good", "good", "wrong", "wrong", "here"]
    problems = {row.number: row.reasons for row in taken.rows.all()}
    assert "shortened" in problems[4][0]
    assert problems[4][0].startswith("Phone: “4.47912E+11”")
    assert problems[5] == ["Date of birth: it is empty."]
    assert problems[6] == [
        "May be row 2 of this file. The name is the same, and the date of birth too."
    ]
    assert not Patient.objects.exists()
    acts = AuditEvent.objects.filter(id__gt=before).values_list("action", flat=True)
    assert sorted(acts) == ["import.looked_through", "import.mapped", "import.uploaded"]


def test_patients_are_registered_as_the_file_tells(patients, owner):
    assert patients.state == State.DONE
    zoe = find_patients("zoe exam").patients[0]
    assert (zoe.full_name, zoe.birth_date, zoe.sex) == ("Zoë Example", date(1971, 5, 17), "female")
    assert (zoe.phone, zoe.address) == ("020 7946 0101", "1 Road\nLK1 1AA Larkstone")
    assert not zoe.agrees_to_email
    assert find_patients("7946 0102").patients[0].full_name == "Bob Sample"
    alert = Alert.objects.get()  # "none" is no alert
    assert (alert.patient, alert.text, alert.added_by) == (
        zoe, "From the former record: Latex", owner,
    )  # fmt: skip
    told = AuditEvent.objects.filter(patient_id=zoe.pk).values_list("action", "actor")
    assert set(told) == {("patient.imported", owner.pk), ("alert.imported", owner.pk)}
    assert verify_chain().broken_at is None


def test_what_was_taken_in_is_not_kept_beside_the_record(patients):
    assert [row.cells is None for row in patients.rows.all()] == [True, True, False, False, False]


def test_who_is_here_already_is_not_registered_again(owner, desk):
    known = make_patient(desk, "Zoe Example", birth_date=date(1971, 5, 17))
    taken = make_import(owner, PATIENTS, to=State.CHECKED)
    row = taken.rows.first()
    assert (row.state, row.patient) == (RowState.HERE, known)
    assert known.record_number in row.reasons[0]


def test_one_registered_at_the_desk_between_dry_run_and_run_is_seen(owner, desk):
    taken = make_import(owner, PATIENTS, to=State.CHECKED)
    make_patient(desk, "Bob Sample", birth_date=date(1972, 6, 18))
    begin(taken=taken, actor=owner)
    carry_on(taken=taken, seconds=60)
    assert states(taken)[:2] == ["taken", "here"]
    assert Patient.objects.filter(full_name="Bob Sample").count() == 1


def test_somebody_else_of_the_same_name_is_taken_in_once_a_person_says_so(owner, desk):
    make_patient(desk, "Zoe Example", birth_date=date(1971, 5, 17))
    taken = make_import(owner, PATIENTS, to=State.CHECKED)
    take_all_the_same(row=taken.rows.first(), actor=owner)
    begin(taken=taken, actor=owner)
    carry_on(taken=taken, seconds=60)
    assert Patient.objects.filter(birth_date=date(1971, 5, 17)).count() == 2
    with pytest.raises(ImportRefused, match="no longer waiting"):
        take_all_the_same(row=taken.rows.first(), actor=owner)


def test_all_who_are_only_alike_are_taken_in_once_a_person_says_so(owner, desk):
    make_patient(desk, "Ann Example", birth_date=date(1971, 5, 17))
    taken = make_import(owner, PATIENTS, to=State.CHECKED)
    assert states(taken) == ["alike", "good", "wrong", "wrong", "alike"]
    take_all_alike(taken=taken, actor=owner)
    begin(taken=taken, actor=owner)
    carry_on(taken=taken, seconds=60)
    assert states(taken) == ["taken", "taken", "wrong", "wrong", "taken"]
    event = AuditEvent.objects.get(action="import.rows_are_others")
    assert (event.actor, event.data) == (owner, '{"after":{"rows":2}}')


def test_past_treatments_find_their_patients_and_keep_the_former_words(patients, owner):
    taken = make_import(owner, TREATMENTS, Kind.TREATMENTS)
    assert states(taken) == ["taken", "taken", "taken", "wrong"]  # two alike are two syringes
    last = taken.rows.last()
    assert "no patient was imported with the number A9" in last.reasons[0]
    first = ImportedTreatment.objects.filter(lot="LF-7").first()
    assert (first.patient.full_name, first.treated_on) == ("Zoë Example", date(2024, 3, 5))
    assert (first.product, first.region, first.amount_text) == (
        "Filler of before", "lips", "0.5\u00a0mL",
    )  # fmt: skip
    toxin = ImportedTreatment.objects.get(product="Toxin of before")
    assert (toxin.treated_on, toxin.amount, toxin.measure) == (date(2024, 6, 5), 2000, "dose")
    assert not first.patient.sessions.exists()


def test_a_treatment_of_another_file_is_not_written_down_twice(patients, owner):
    make_import(owner, TREATMENTS, Kind.TREATMENTS)
    again = make_import(owner, TREATMENTS + "\n", Kind.TREATMENTS, to=State.CHECKED)
    assert states(again) == ["here", "here", "here", "wrong"]


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("Bob Sample,1972-06-18,P999999,,2024-01-01,X", "record number P999999"),
        ("Bob Sample,1972-06-19,,A2,2024-01-01,X", "born on another day"),
        ("Rob Sample,1972-06-18,,,2024-01-01,X", "exactly this name"),
        (",,,,2024-01-01,X", "nothing says who"),
        ("Bob Sample,1972-06-18,,,1970-01-01,X", "not born by then"),
    ],
)
def test_a_treatment_without_a_certain_patient_is_refused(patients, owner, row, words):
    text = f"Name,Date of birth,Record number,Number,Date,Product\n{row}\n"
    taken = make_import(owner, text, Kind.TREATMENTS, to=State.CHECKED)
    assert states(taken) == ["wrong"]
    assert words in taken.rows.get().reasons[0]


def many(count: int) -> str:
    rows = (
        f"K{n},Person{chr(97 + n % 26)}{chr(97 + n // 26)} Example,"
        f"{1950 + n % 40}-01-{n % 28 + 1:02d}"
        for n in range(count)
    )
    return "\n".join(["Number,Name,Date of birth", *rows])


class Killed(BaseException):
    """As SIGKILL leaves it: nothing of the batch is stored."""


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_whoever_is_killed_at_any_moment_doubles_and_loses_nothing(owner, monkeypatch, seed):
    chance = random.Random(seed)  # noqa: S311
    monkeypatch.setattr(batches, "TAKEN_AT_ONCE", 7)
    taken = make_import(owner, many(60), to=State.CHECKED)
    new = standing_of(taken).new
    assert new > 40
    begin(taken=taken, actor=owner)
    killed = 0
    for part in ("_register", "_is_taken", "good_patients"):
        whole = getattr(batches, part)

        def killing(*args, _whole=whole, **kwargs):
            result = _whole(*args, **kwargs)
            if chance.random() < 0.15:
                raise Killed
            return result

        monkeypatch.setattr(batches, part, killing)
    while refreshed(taken).state == State.RUNNING:
        try:
            with transaction.atomic():
                work_on(taken)
        except Killed:
            killed += 1
    assert killed
    assert Patient.objects.count() == standing_of(refreshed(taken)).taken == new
    assert ImportRow.objects.filter(made_patient__isnull=False).count() == new
    assert AuditEvent.objects.filter(action="patient.imported").count() == new
    assert verify_chain().broken_at is None


def test_the_worker_goes_on_with_what_a_page_left(owner):
    taken = make_import(owner, PATIENTS, to=State.CHECKED)
    begin(taken=taken, actor=owner)
    tick()
    assert refreshed(taken).state == State.DONE
    events = AuditEvent.objects.filter(action="patient.imported")
    assert {event.actor for event in events} == {owner}


def test_a_file_is_taken_in_once(patients, owner):
    with pytest.raises(ImportRefused, match="very file is here already"):
        make_import(owner, PATIENTS)
    begin(taken=patients, actor=owner)  # a second press
    assert Patient.objects.count() == 2


def test_one_import_runs_at_a_time(owner):
    first = make_import(owner, PATIENTS, to=State.CHECKED)
    second = make_import(owner, many(3), to=State.CHECKED)
    begin(taken=first, actor=owner)
    with pytest.raises(ImportRefused, match="Another file"):
        begin(taken=second, actor=owner)


def test_other_columns_have_every_row_looked_at_anew(owner):
    taken = make_import(owner, PATIENTS, to=State.CHECKED)
    mapping = {key: place for key, place in taken.mapping.items() if key != "phone"}
    map_columns(taken=taken, mapping=mapping, date_order=None, measure=None, actor=owner)
    carry_on(taken=taken, seconds=60)
    assert states(taken) == ["good", "good", "good", "wrong", "here"]


@pytest.mark.parametrize(
    "mapping", [{"full_name": 99, "birth_date": 3}, {"full_name": 1}, {"x": 0}]
)
def test_columns_that_cannot_be_are_refused(owner, mapping):
    taken = make_import(owner, PATIENTS, to=State.UPLOADED)
    with pytest.raises(ImportRefused):
        map_columns(taken=taken, mapping=mapping, date_order=None, measure=None, actor=owner)


def test_a_discarded_file_leaves_no_rows(owner):
    taken = make_import(owner, PATIENTS, to=State.CHECKED)
    discard(taken=taken, actor=owner)
    assert refreshed(taken).state == State.DISCARDED
    assert not ImportRow.objects.exists()
    make_import(owner, PATIENTS)  # the same file again


def test_one_that_was_taken_in_is_not_discarded(patients, owner):
    with pytest.raises(ImportRefused, match="only be undone"):
        discard(taken=patients, actor=owner)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"Name,Date of birth\n", "no row below"),
        (b"\xef\xbb\xbf", "empty"),
        (b'Name,Date of birth\n"Ann,1980\n', "quotation marks"),
        (b"PK\x03\x04", "spreadsheet"),
        (b"Name,Date of birth\nAnn\0,1980\n", "not text"),
        (b",".join([b"x"] * 201) + b"\ny\n", "at most 200 columns"),
    ],
)
def test_a_file_that_cannot_be_read_is_refused_whole(owner, data, words):
    with pytest.raises(ImportRefused, match=words):
        take_up(file=ContentFile(data, "x.csv"), kind=Kind.PATIENTS, letters=None, actor=owner)
    assert not Import.objects.exists()


@pytest.mark.parametrize("codec", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_names_are_read_in_whatever_letters_they_are_written(owner, codec):
    text = "sep=;\r\nName;Date of birth\r\n“Zoë” Müller;17.05.1971\r\n"
    file = ContentFile(text.encode(codec), "x.csv")
    taken = take_up(file=file, kind=Kind.PATIENTS, letters=None, actor=owner)
    assert (taken.headings, taken.rows.get().cells) == (
        ["Name", "Date of birth"], ["“Zoë” Müller", "17.05.1971"],
    )  # fmt: skip


@pytest.mark.parametrize(
    "break_rule",
    [
        lambda taken: taken.rows.update(state="good"),
        lambda taken: taken.rows.all().delete(),
        lambda taken: Import.objects.update(state="checked"),
        lambda taken: Import.objects.update(digest="0" * 64),
        lambda taken: Import.objects.all().delete(),
        lambda taken: ImportRow.objects.create(import_of=taken, number=2),
        lambda taken: ImportRow.objects.create(import_of=taken, number=90, state="odd"),
        lambda taken: Import.objects.update(state="undoing"),
    ],
)
def test_the_database_keeps_what_was_taken_in(patients, break_rule):
    with pytest.raises(IntegrityError), transaction.atomic():
        break_rule(patients)


def test_the_database_keeps_past_treatments(patients, owner):
    make_import(owner, TREATMENTS, Kind.TREATMENTS)
    for break_rule in (
        lambda all_: all_.update(product="Another"),
        lambda all_: all_.all()._raw_delete("default"),
    ):
        with pytest.raises(IntegrityError), transaction.atomic():
            break_rule(ImportedTreatment.objects)


def test_a_patient_is_made_by_one_row(patients):
    made = patients.rows.filter(state="taken").first().made_patient
    with pytest.raises(IntegrityError), transaction.atomic():
        ImportRow.objects.create(import_of=patients, number=99, state="taken", made_patient=made)
