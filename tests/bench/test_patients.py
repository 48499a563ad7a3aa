"""The bench goes round the services; what it writes must be what they would have written."""

import pytest

from records.patients.models import Patient, PatientWord
from records.patients.queries import find_patients
from records.patients.services import rebuild_search_keys, save_patient
from tests.bench.patients import rows, search_by_hand

pytestmark = pytest.mark.django_db


def test_rows_of_the_bench_are_those_of_the_services(desk):
    for row, found_by in rows(100, 1):
        patient = Patient(full_name=row[2], birth_date=row[4], phone=row[6])
        save_patient(patient=patient, actor=desk)
        stored = patient.words.values_list("word", "name_key")
        assert set(stored) == {(word, key) for _, word, key in found_by}
        assert patient.phone_tail == row[7]


def test_sql_by_hand_finds_the_same(desk):
    for row, _ in rows(100, 1):
        save_patient(patient=Patient(full_name=row[2], birth_date=row[4]), actor=desk)
    assert rebuild_search_keys() == 0
    for word in PatientWord.objects.order_by("word").values_list("word", flat=True)[:100:5]:
        by_hand = list(dict.fromkeys(row[0] for row in search_by_hand(word[:2])))[:20]
        assert [patient.pk for patient in find_patients(word[:2]).patients] == by_hand
