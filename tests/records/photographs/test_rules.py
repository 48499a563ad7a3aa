"""What the database refuses, whatever path it comes by."""

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from records.photographs.enums import Use
from records.photographs.models import ChosenSeries, Photograph, PhotographUse
from records.photographs.services.keeping import take_out_photograph
from records.photographs.services.uses import withdraw_use
from tests.factories import make_patient, make_photograph, make_session

pytestmark = pytest.mark.django_db


@pytest.fixture
def photograph(injector, patient):
    return make_photograph(injector, patient)


def refused(change, *args, **fields) -> str:
    with pytest.raises(IntegrityError) as error, transaction.atomic():
        change(*args, **fields)
    return str(error.value)


@pytest.mark.parametrize(
    ("fields", "rule"),
    [
        ({"view": "back"}, "photograph_view_is_known"),
        ({"state": "laugh"}, "photograph_state_is_known"),
        ({"removed_at": timezone.now()}, "photograph_removed_by_somebody_for_a_reason"),
    ],
)
def test_a_photograph_shows_what_is_known(photograph, fields, rule):
    assert rule in refused(Photograph.objects.update, **fields)


@pytest.mark.parametrize("column", ["width", "height"])
def test_a_photograph_has_a_size(injector, photograph, column):
    empty = Photograph.objects.get()
    empty.pk, empty.key = None, "00000000-0000-4000-8000-000000000001"
    setattr(empty, column, 0)
    assert "photograph_has_a_size" in refused(empty.save, force_insert=True)


@pytest.mark.parametrize(
    "fields",
    [{"digest": "0" * 64}, {"file": "other.jpg"}, {"width": 1}, {"source": "camera"}],
    ids=lambda fields: next(iter(fields)),
)
def test_a_photograph_stays_the_picture_that_was_stored(photograph, fields):
    assert "stays as it was stored" in refused(Photograph.objects.update, **fields)


def test_a_photograph_moves_to_no_other_patient(photograph, injector):
    other = make_patient(injector, "Bea Example")
    assert "stays as it was stored" in refused(Photograph.objects.update, patient=other)


def test_a_photograph_lies_in_no_session_of_another_patient(photograph, injector):
    session = make_session(injector, make_patient(injector, "Bea Example"))
    copy = Photograph.objects.get()
    copy.pk, copy.key = None, "00000000-0000-4000-8000-000000000001"
    copy.session = session
    assert "the session is of another patient" in refused(copy.save, force_insert=True)


def test_a_photograph_is_taken_out_once_and_stays(photograph, injector):
    take_out_photograph(photograph=photograph, reason="Blurred", actor=injector)
    assert "was taken out" in refused(Photograph.objects.update, removed_reason="Other")
    # Not by the model: what it agrees to would stand in the way before.
    assert "stays in the record" in refused(Photograph.objects.all()._raw_delete, "default")


def test_an_agreement_stays_as_it_was_given(photograph):
    for fields in ({"use": "publication"}, {"until_on": timezone.localdate()}):
        assert "stays as it was given" in refused(PhotographUse.objects.update, **fields)
    assert "stays in the record" in refused(PhotographUse.objects.all().delete)


def test_an_agreement_is_withdrawn_once(photograph, injector):
    withdraw_use(photograph=photograph, use=Use.RECORD, actor=injector)
    assert "was withdrawn" in refused(
        PhotographUse.objects.update, withdrawn_at=None, withdrawn_by=None
    )


@pytest.mark.parametrize(
    ("fields", "rule"),
    [
        ({"use": "advertising"}, "photograph_use_is_known"),
        ({"until_on": "2026-11-24"}, "photograph_use_ends_after_it_begins"),
        ({"withdrawn_at": timezone.now()}, "photograph_use_withdrawn_by_somebody"),
    ],
)
def test_an_agreement_makes_sense(photograph, injector, fields, rule):
    given = {
        "photograph": photograph, "use": "teaching", "noted_by": injector,
        "given_at": timezone.now(), "given_on": "2026-11-25", **fields,
    }  # fmt: skip
    assert rule in refused(PhotographUse.objects.create, **given)


def test_a_series_is_of_a_kind_that_is_known(injector):
    fields = {"shots": [], "changed_at": timezone.now(), "changed_by": injector}
    assert "chosen_series_kind_is_known" in refused(
        ChosenSeries.objects.create, kind="laser", **fields
    )
