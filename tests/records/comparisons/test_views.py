"""Pages of comparing: who sees them, what is chosen, marked, printed and noted."""

import uuid

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clinic.audit.models import AuditEvent
from planning.landmarks import Landmark
from planning.standard_views import Shot
from records.comparisons.models import ComparisonSheet
from records.comparisons.queries import places_on
from records.photographs.enums import Use
from records.photographs.services.keeping import take_out_photograph
from records.photographs.services.uses import withdraw_use
from tests.factories import make_patient, make_photograph
from tests.records.comparisons.conftest import PLACES
from tests.records.photographs.test_views import many

pytestmark = pytest.mark.django_db


@pytest.fixture
def tablet(signed_in, injector):
    """The test client of the injector."""
    return signed_in(injector)


def pair_url(first, second, act: str = "") -> str:
    return reverse(f"comparison-pair{act}", args=[first.key, second.key])


def sent(places, **more) -> dict:
    return {
        f"{landmark}_{axis}": value
        for landmark, place in places.items()
        for axis, value in zip("xy", place, strict=True)
    } | more


def drawn(page) -> dict:
    return page.context["drawn"]


def test_the_earliest_and_the_latest_are_chosen_to_begin_with(tablet, patient, first, second):
    page = tablet.get(reverse("comparison-choose", args=[patient.pk]))
    assert page.context["ticked"] == {str(first.key), str(second.key)}
    assert page.text.count(" checked>\n") == 2
    assert AuditEvent.objects.filter(action="read.photographs", patient_id=patient.pk).count() == 1


def test_two_that_are_chosen_lead_to_their_comparison(tablet, patient, first, second):
    url = reverse("comparison-choose", args=[patient.pk])
    chosen = {"picture": [first.key, second.key], "compare": "yes"}
    answer = tablet.get(url, chosen)
    assert set(answer.url.split("/")[3:5]) == {str(first.key), str(second.key)}


@pytest.mark.parametrize(
    ("picked", "told"),
    [
        ([], "Choose two pictures."),
        (["first"], "Choose two pictures, not 1."),
        (["first", "second", "third"], "Choose two pictures, not 3."),
        (["first", "strangers"], "no longer there"),
        (["first", "no-key"], "not a valid UUID"),
    ],
)
def test_another_number_is_refused_and_the_choice_stays(
    tablet, patient, injector, first, second, picked, told
):
    known = {
        "first": first,
        "second": second,
        "third": make_photograph(injector, patient),
        "strangers": make_photograph(injector, make_patient(injector, "Bea Example")),
    }
    keys = [str(known[name].key) if name in known else name for name in picked]
    url = reverse("comparison-choose", args=[patient.pk])
    answer = tablet.get(url, {"picture": keys, "compare": "yes"})
    assert answer.status_code == 422
    assert told in answer.text
    shown = [key for key in keys if key in map(str, (first.key, second.key))]
    assert all(f'value="{key}" checked' in answer.text for key in shown)


def test_three_hundred_are_offered_in_as_many_statements_as_two(tablet, patient, first, second):
    url = reverse("comparison-choose", args=[patient.pk])
    tablet.get(url)  # what is asked once a process
    with CaptureQueriesContext(connection) as of_two:
        tablet.get(url)
    many(first, 300)
    with CaptureQueriesContext(connection) as of_many:
        page = tablet.get(url)
    assert len(of_many) == len(of_two)
    assert page.text.count('loading="lazy"') == 152
    assert tablet.get(url, {"shot": "hands:rest"}).text.count('loading="lazy"') == 150


def test_a_comparison_asks_as_much_among_three_hundred(tablet, marked):
    url = pair_url(*marked)
    tablet.get(url)
    with CaptureQueriesContext(connection) as of_two:
        tablet.get(url)
    many(marked[0], 300)
    with CaptureQueriesContext(connection) as of_many:
        tablet.get(url)
    assert len(of_many) == len(of_two)


def test_the_page_draws_both_by_the_addresses_that_ask_who_looks(tablet, marked):
    first, second = marked
    page = tablet.get(pair_url(second, first))
    earlier, later = drawn(page)["layers"]
    assert earlier["preview"] == f"/photographs/{first.key}/preview/"
    assert later["full"] == f"/photographs/{second.key}/file/"
    # Half as large, turned back by a quarter.
    assert later["matrix"] == pytest.approx((0, -0.5, 0.5, 0, 300, 490))
    assert "Light, pose, distance" in page.text
    assert "style=" not in page.text


def test_it_is_stretched_where_that_is_asked_for_and_says_what_it_does(tablet, marked):
    page = tablet.get(pair_url(*marked), {"fit": "stretched"})
    assert page.context["comparison"].fit == "stretched"
    assert "Stretching changes the shape" in page.text


def test_pictures_without_marks_are_not_aligned_and_the_page_says_so(tablet, first, second):
    page = tablet.get(pair_url(first, second))
    assert "Not aligned" in page.text
    assert f"/comparisons/marks/{first.key}/?next=%2Fcomparisons%2Fpair%2F" in page.text


def test_sides_are_compared_of_a_view_that_shows_both(tablet, injector, patient, marked):
    page = tablet.get(reverse("comparison-sides", args=[marked[0].key, "left"]))
    assert drawn(page)["frame"] == (400, 0, 400, 600)
    assert "No face is the same on both sides" in page.text
    unknown = reverse("comparison-sides", args=[marked[0].key, "midline"])
    assert tablet.get(unknown).status_code == 404


def test_one_that_was_taken_out_is_compared_by_nobody(signed_in, owner, injector, marked):
    take_out_photograph(photograph=marked[0], reason="Blurred", actor=injector)
    client = signed_in(owner)
    assert client.get(pair_url(*marked)).status_code == 404
    assert client.get(reverse("comparison-marks", args=[marked[0].key])).status_code == 404


def test_people_are_not_compared_with_each_other(tablet, injector, first):
    other = make_photograph(injector, make_patient(injector, "Bea Example"))
    assert tablet.get(pair_url(first, other)).status_code == 404
    assert tablet.get(pair_url(first, first)).status_code == 404
    nobody = reverse("comparison-pair", args=[first.key, uuid.uuid4()])
    assert tablet.get(nobody).status_code == 404


def test_the_front_desk_compares_nothing(signed_in, desk, marked):
    client = signed_in(desk)
    for url in (
        pair_url(*marked),
        reverse("comparison-choose", args=[marked[0].patient_id]),
        reverse("comparison-marks", args=[marked[0].key]),
        reverse("comparison-sides", args=[marked[0].key, "right"]),
    ):
        assert client.get(url).status_code == 403


def test_marks_are_saved_and_lead_back(tablet, first, second):
    back = pair_url(first, second)
    url = reverse("comparison-marks", args=[first.key])
    answer = tablet.post(url, sent(PLACES, next=back))
    assert answer.url == back
    assert places_on(first) == PLACES
    assert 'value="350"' in tablet.get(url).text


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        (dict.fromkeys([*sent(PLACES)][:2] + [*sent(PLACES)][4:], ""), "at least two"),
        ({"nose_base_x": ""}, "Type both numbers of this mark, or neither."),
        ({"nose_base_x": "800"}, "type a number from 0 to 799"),
        ({"nose_base_y": "-1"}, "type a number from 0 to 599"),
        ({"nose_base_y": "low"}, "Type a whole number of pixels."),
        ({"nose_base_x": "351", "nose_base_y": "241"}, "less than 10 pixels"),
    ],
)  # fmt: skip
def test_marks_that_cannot_be_are_refused_and_stay_typed(tablet, first, fields, told):
    answer = tablet.post(reverse("comparison-marks", args=[first.key]), sent(PLACES) | fields)
    assert answer.status_code == 422
    assert told in answer.text
    assert 'value="450"' in answer.text
    assert places_on(first) == {}


def test_a_sheet_is_printed_and_opened(tablet, marked):
    answer = tablet.post(pair_url(*marked, "-sheet"), {"use": "record"})
    sheet = ComparisonSheet.objects.get()
    assert answer.url == f"/comparisons/sheets/{sheet.pk}/"
    pdf = tablet.get(answer.url)
    assert pdf.content == bytes(sheet.pdf)
    assert pdf["Cache-Control"] == "no-store"


def test_sheets_for_teaching_are_the_owners(signed_in, injector, owner, marked):
    url = reverse("comparison-sides-sheet", args=[marked[0].key, "right"])
    refused = signed_in(injector).post(url, {"use": "teaching"})
    assert refused.status_code == 422
    assert "the practice owner’s" in refused.text
    client = signed_in(owner)
    made = client.post(url, {"use": "teaching"})
    assert client.get(made.url).status_code == 200
    sheet = ComparisonSheet.objects.get()
    assert (sheet.second, sheet.side, sheet.use) == (None, "right", "teaching")
    assert signed_in(injector).get(made.url).status_code == 404


def test_a_sheet_that_is_not_agreed_any_more_is_refused_in_words(tablet, marked, injector):
    made = tablet.post(pair_url(*marked, "-sheet"), {"use": "record"})
    withdraw_use(photograph=marked[0], use=Use.RECORD, actor=injector)
    assert "does not agree, or no more" in tablet.get(made.url, follow=True).text
    assert "nothing is printed" in tablet.get(pair_url(*marked)).text
    again = tablet.post(pair_url(*marked, "-sheet"), {"use": "record"})
    assert again.status_code == 422


def test_marks_of_another_view_are_asked_for(tablet, injector, patient):
    profile = make_photograph(injector, patient, shot=Shot.of("profile_left:rest"))
    page = tablet.get(reverse("comparison-marks", args=[profile.key]))
    assert Landmark.EAR_LEFT.label in page.text
