"""Outcome by region, product and injector: who counts where, against counts made by hand."""

import csv
from datetime import timedelta
from io import StringIO

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from planning.atlas.regions import Region
from planning.outcomes import Improvement, Rater
from records.outcomes.enums import OutcomeBy, PatientAnswer
from records.outcomes.queries.rates import outcomes
from records.usage.queries.period import Period
from tests.factories import make_patient, make_product, make_review_record, make_user

MUCH, IMPROVED, SAME = Improvement.MUCH, Improvement.IMPROVED, Improvement.NO_CHANGE
TEMPLE, CHIN = Region.TEMPLE, Region.MENTAL


def period(product=None) -> Period:
    today = timezone.localdate()
    return Period(today - timedelta(days=7), today, product and product.pk)


@pytest.fixture
def clinic(desk, injector, treat):
    """
    Six patients of Ida with a soft filler: temples 2 2 2 2 3 4, chins 4 in the last two alone;
    one of Second with a firm filler: temple 4. Patients of Ida say 1 and are satisfied by 4 to 9.
    """
    second = make_user("=second", is_injector=True)
    soft, firm = make_product("Soft filler"), make_product("Firm filler")
    temples = [MUCH, MUCH, MUCH, MUCH, IMPROVED, SAME]
    for number, grade in enumerate(temples):
        patient = make_patient(desk, f"Patient {number}")
        regions = {TEMPLE: grade} | ({CHIN: SAME} if number > 3 else {})
        make_review_record(
            injector, treat(patient, injector, soft, tuple(regions)),
            seen_on=timezone.localdate(), by_injector=regions,
            by_patient={TEMPLE: Improvement.VERY_MUCH},
            satisfaction=4 + number, patient_answer=PatientAnswer.ASKED,
        )  # fmt: skip
    other = treat(make_patient(desk, "Other"), second, firm, ("temple",))
    make_review_record(second, other, seen_on=timezone.localdate(), by_injector={TEMPLE: SAME})
    return soft, firm, other, second


def lines(by: OutcomeBy, rater=Rater.INJECTOR, product=None) -> dict[str, tuple]:
    found = outcomes(period(product), by, rater)
    return {row.label: row.outcome.counts for row in [*found.rows, found.whole]}


def test_by_region(clinic):
    assert lines(OutcomeBy.REGION) == {
        "Temporal region": (0, 4, 1, 2, 0),
        "Mental region": (0, 0, 0, 2, 0),
        "All together": (0, 4, 0, 3, 0),  # whose chin was no better counts with the chin
    }


def test_by_product_and_by_injector_with_the_least_improved_region(clinic):
    assert lines(OutcomeBy.PRODUCT) == {
        "Firm filler": (0, 0, 0, 1, 0),
        "Soft filler": (0, 4, 0, 2, 0),
        "All together": (0, 4, 0, 3, 0),
    }
    assert lines(OutcomeBy.INJECTOR) == {
        "=Second": (0, 0, 0, 1, 0),
        "Ida Injector": (0, 4, 0, 2, 0),
        "All together": (0, 4, 0, 3, 0),
    }


def test_the_patients_own_judgement_stands_apart(clinic):
    assert lines(OutcomeBy.REGION, Rater.PATIENT) == {
        "Temporal region": (6, 0, 0, 0, 0), "All together": (6, 0, 0, 0, 0),
    }  # fmt: skip


def test_of_one_product_alone(clinic):
    _, firm, *_ = clinic
    assert lines(OutcomeBy.REGION, product=firm) == {
        "Temporal region": (0, 0, 0, 1, 0), "All together": (0, 0, 0, 1, 0),
    }  # fmt: skip
    assert list(lines(OutcomeBy.PRODUCT, product=firm)) == ["Firm filler", "All together"]


def test_the_last_record_of_a_review_holds(clinic):
    _, _, other, second = clinic
    make_review_record(
        second, other, seen_on=timezone.localdate(), by_injector={TEMPLE: Improvement.WORSE},
        why_again="Looked again",
    )  # fmt: skip
    assert lines(OutcomeBy.INJECTOR)["=Second"] == (0, 0, 0, 0, 1)


def test_other_days_do_not_count(clinic):
    today = timezone.localdate()
    before = Period(today - timedelta(days=30), today - timedelta(days=1))
    assert outcomes(before, OutcomeBy.REGION, Rater.INJECTOR).rows == []


def test_a_share_over_fewer_than_five_is_not_given(clinic):
    rows = {row.label: row for row in outcomes(period(), OutcomeBy.INJECTOR, Rater.INJECTOR).rows}
    few, enough = rows["=Second"], rows["Ida Injector"]
    assert (few.share_text, few.details, few.mark) == ("0 of 1", ("fewer than 5",), None)
    # 4 of 6 by scipy 1.17, binomtest(4, 6).proportion_ci(method="wilson").
    assert enough.share_text == "66.7\u00a0%"
    assert enough.details == ("4 of 6", "30.0\u00a0%\u00a0to\u00a090.3\u00a0%")
    assert (enough.satisfaction_text, enough.satisfaction_details) == (
        "6", ("middle half 5 to 8", "6 answers"),
    )  # fmt: skip
    assert few.satisfaction_text == "–"


@pytest.mark.parametrize("by", list(OutcomeBy))
def test_the_queries_do_not_grow_with_the_lines(clinic, by):
    with CaptureQueriesContext(connection) as asked:
        outcomes(period(), by, Rater.INJECTOR)
    assert len(asked) == (3 if by is OutcomeBy.PRODUCT else 2)


def test_the_owner_sees_the_table_with_its_sources(clinic, owner, signed_in):
    page = signed_in(owner).get(reverse("outcome-rates"), {"by": "injector"})
    shown = page.content.decode()
    for words in [
        "Ida Injector", "4 of 6", "fewer than 5", "95 % interval", "Wilson",
        "no validated cut-off", "common practice, no source", "Hyndman and Fan",
    ]:  # fmt: skip
        assert words in shown
    assert shown.count('<svg class="interval"') == 2  # Ida's line and that of all together


def test_the_csv_holds_the_same(clinic, owner, signed_in):
    answer = signed_in(owner).get(reverse("outcome-rates-csv"), {"by": "injector"})
    text = b"".join(answer.streaming_content).decode("utf-8-sig")
    ida, second = csv.DictReader(StringIO(text, newline=""))
    assert (second["injector"], second["patients"]) == ("'=Second", "1")
    assert second["improved_percent"] == ""
    assert (ida["grade_2_much"], ida["improved_percent"], ida["satisfaction_median"]) == (
        "4", "66.667", "6",
    )  # fmt: skip
    assert ida["scale"] == "Global Aesthetic Improvement Scale, 1 is best"


def test_nothing_written_up_and_days_that_cannot_be(owner, signed_in):
    client = signed_in(owner)
    assert "No review is written up" in client.get(reverse("outcome-rates")).content.decode()
    wrong = {"first": "2026-05-02", "last": "2026-05-01"}
    for route in ("outcome-rates", "outcome-rates-csv"):
        assert "lies before the first" in client.get(reverse(route), wrong).content.decode()
