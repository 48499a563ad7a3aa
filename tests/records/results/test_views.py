import csv
from io import StringIO

import pytest
from django.urls import reverse

from clinic.audit.models import AuditEvent

SPRING = {"first": "2026-03-01", "last": "2026-05-31"}


def get(client, route="results-waste", **asked):
    return client.get(reverse(route), SPRING | asked)


def lines_of(response) -> list[dict]:
    text = b"".join(response.streaming_content).decode("utf-8-sig")
    return list(csv.DictReader(StringIO(text, newline="")))


def patient_page(client, patient) -> str:
    return client.get(reverse("results-for-patient", args=[patient.pk])).content.decode()


def test_waste_is_drawn_and_told(clinic, owner, signed_in):
    shown = get(signed_in(owner)).content.decode()
    assert shown.count('<svg class="plot"') == 2
    assert "<title>March 2026: 0.25 mL left over, 0.05 mL otherwise</title>" in shown
    for words in ["35.0\u00a0%", "60.0\u00a0%", "nothing opened", "Spilled", "Kept too long"]:
        assert words in shown
    off = shown[shown.index("Written off unopened") :]
    assert "Expired" in off
    assert "Spilled" not in off


def test_waste_by_injector_names_them(clinic, owner, signed_in):
    page = get(signed_in(owner), by="injector")
    assert [one.person for one in page.context["page_obj"]] == ["Ida Injector", "Second", "Second"]
    assert "for whoever recorded it" in page.content.decode()


def test_the_drawings_need_no_style(clinic, owner, signed_in):
    client = signed_in(owner)
    for page in (get(client).content.decode(), patient_page(client, clinic.ann)):
        assert "style=" not in page[page.index("<svg class=") :]


@pytest.mark.parametrize(
    ("by", "first"),
    [
        ("product", ["HA filler 1 mL", "2026-03", "1", "1", "0.3", "0.25", "0.05", "30.000", "mL"]),
        (
            "injector",
            [
                "Ida Injector", "HA filler 1 mL", "2026-03", "1", "1", "0.3", "0.25", "0.05",
                "30.000", "mL",
            ],
        ),
    ],
)  # fmt: skip
def test_csv_holds_every_month_with_waste(clinic, owner, signed_in, by, first):
    response = get(signed_in(owner), "results-waste-csv", by=by)
    assert f'filename="waste-by-{by}-2026-03-01-2026-05-31.csv"' in response["Content-Disposition"]
    lines = lines_of(response)
    assert list(lines[0].values()) == first
    assert [(line["month"], line["wasted"], line["percent_of_opened"]) for line in lines] == [
        ("2026-03", "0.3", "30.000"),
        ("2026-05", "0.4", ""),
        ("2026-05", "60", "60.000"),
    ]


def test_a_product_named_like_a_formula_is_text(clinic, owner, signed_in):
    clinic.filler.name = "=1+1"
    clinic.filler.save(update_fields=["name"])
    assert lines_of(get(signed_in(owner), "results-waste-csv"))[0]["product"] == "'=1+1"


def test_no_waste_says_so(clinic, owner, signed_in):
    page = get(signed_in(owner), first="2026-04-01", last="2026-04-29").content.decode()
    assert "Nothing was thrown away from an opened unit on these days." in page
    assert '<svg class="plot"' not in page


@pytest.mark.parametrize("route", ["results-waste", "results-waste-csv"])
@pytest.mark.parametrize(
    ("asked", "field", "says"),
    [
        ({"first": "someday"}, "first", "Type the day as 31/12/2026"),
        ({"last": "2026-02-28"}, "last", "This day lies before the first one."),
        ({"first": "2020-01-01"}, "first", "Ask for three years at most"),
        ({"by": "moon"}, "by", "valid choice"),
        ({"product": "999999"}, "product", "valid choice"),
    ],
)
def test_bad_input_draws_nothing_and_says_what_to_do(owner, signed_in, route, asked, field, says):
    page = get(signed_in(owner), route, **asked)
    assert says in page.context["form"].errors[field][0]
    assert "page_obj" not in page.context


def test_amounts_of_a_patient_by_region(clinic, injector, signed_in):
    shown = patient_page(signed_in(injector), clinic.bea)
    assert shown.count('<svg class="plot"') == 2
    assert "<title>Left, 10 Apr 2026: 0.6 mL</title>" in shown
    assert "<title>Midline, 1 May 2026: 40 units</title>" in shown
    assert "Every standing point of 2 sessions" in shown
    event = AuditEvent.objects.filter(action="read.amounts").get()
    assert (event.patient_id, event.actor) == (clinic.bea.pk, injector)


def test_the_patient_s_sessions_lead_to_the_amounts(clinic, injector, signed_in):
    panel = signed_in(injector).get(reverse("session-for-patient", args=[clinic.ann.pk]))
    assert reverse("results-for-patient", args=[clinic.ann.pk]) in panel.content.decode()


def test_a_patient_without_a_session_has_none_yet(patient, injector, signed_in):
    assert "Nothing was injected yet" in patient_page(signed_in(injector), patient)


def test_an_unknown_patient_is_not_found(injector, signed_in):
    assert signed_in(injector).get(reverse("results-for-patient", args=[999])).status_code == 404


@pytest.mark.parametrize("route", ["results-waste", "results-waste-csv"])
def test_asking_is_all_that_can_be_done(owner, signed_in, route):
    assert signed_in(owner).post(reverse(route)).status_code == 405


def test_waste_is_the_owner_s_and_amounts_are_not_for_the_desk(clinic, desk, injector, signed_in):
    assert get(signed_in(injector)).status_code == 403
    amounts = reverse("results-for-patient", args=[clinic.ann.pk])
    assert signed_in(desk).get(amounts).status_code == 403
