"""What is still to be photographed is said before a session; the clinic's own series counts."""

import pytest
from django.utils import timezone

from planning.standard_views import Shot, standard_series
from planning.vocabulary import ProductKind
from records.patients.enums import AlertLevel
from records.photographs.keepers import photograph_gates
from records.photographs.models import ChosenSeries
from records.photographs.queries import series_of
from records.photographs.services.series import choose_series, use_usual_series
from tests.factories import make_photograph
from tests.records.gates.fakes import said_of

pytestmark = pytest.mark.django_db
TOXIN = ProductKind.TOXIN
FRONT, FROWN = Shot.of("front:rest"), Shot.of("front:frown")


def asked(patient, *kinds: ProductKind) -> list:
    return said_of(photograph_gates, patient, *kinds)


def test_a_note_names_what_is_missing(patient, injector):
    choose_series(kind=TOXIN, shots=[FRONT, FROWN], actor=injector)
    make_photograph(injector, patient, taken_at=timezone.now())
    (gate,) = asked(patient, TOXIN)
    assert gate.level == AlertLevel.NOTE
    assert gate.title == "1 of 2 photographs are to be taken"
    assert gate.text == "Missing: Front, frown."
    assert gate.url == f"/photographs/take/{patient.pk}/"
    assert "Behr" in gate.source


def test_those_of_another_day_do_not_count(patient, injector):
    make_photograph(injector, patient)
    (gate,) = asked(patient, TOXIN)
    assert gate.title == "7 of 7 photographs are to be taken"


def test_nothing_is_said_when_all_are_there_or_nobody_knows_what_is_given(patient, injector):
    choose_series(kind=TOXIN, shots=[FRONT], actor=injector)
    make_photograph(injector, patient, taken_at=timezone.now())
    assert asked(patient, TOXIN) == []
    assert asked(patient) == []


def test_the_clinic_goes_back_to_the_usual_series(injector):
    choose_series(kind=TOXIN, shots=[], actor=injector)
    assert series_of(TOXIN).shots == ()
    use_usual_series(kind=TOXIN, actor=injector)
    assert series_of(TOXIN).shots == standard_series(TOXIN)
    assert not ChosenSeries.objects.exists()
