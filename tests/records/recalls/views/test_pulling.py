"""The pull list, as the owner uses it, and closing."""

import pytest
from django.urls import reverse

from clinic.stock.enums import UnitState
from tests.factories import PASSWORD, make_place, make_product, make_units, refreshed
from tests.pdf import pdf_text
from tests.records.recalls.cases import make_case, span

pytestmark = pytest.mark.django_db


@pytest.fixture
def client(signed_in, owner):
    return signed_in(owner)


def url(case, name: str = "recall-units", *more) -> str:
    return reverse(name, args=[case.pk, *more])


def ids(case) -> list[int]:
    return list(case.units.order_by("unit_id").values_list("pk", flat=True))


def shown(client, case) -> dict[str, list[str]]:
    context = client.get(url(case)).context
    return {
        name: [row.unit.label for row in context[name]] for name in ("to_pull", "apart", "gone")
    }


def test_units_are_listed_by_place_those_nobody_knows_of_last(client, owner, product):
    fridge, shelf = (make_place(name, site="Main") for name in ("Shelf B", "Box A"))
    units = make_units(owner, product, quantity=3)
    for unit, place in zip(units[:2], (fridge, shelf), strict=True):
        unit.place = place
        unit.save(update_fields=["place"])
    case = make_case(owner, span(product))
    rows = client.get(url(case)).context["to_pull"]
    assert [row.place for row in rows] == ["Main, Box A", "Main, Shelf B", "Nobody noted where"]


def test_units_are_set_apart_and_leave_before_a_witness(client, case, units):
    first, second, *_ = ids(case)
    client.post(url(case, "recall-units-apart"), {"units": [first, second]})
    assert shown(client, case) == {
        "to_pull": ["U000005"], "apart": ["U000003", "U000004"], "gone": [],
    }  # fmt: skip
    sent = {"units": [first], "kind": "returned", "witness": "Dora Desk", "reason": "Parcel 9"}
    client.post(url(case, "recall-units-leave"), sent)
    assert shown(client, case)["gone"] == ["U000003"]
    page = client.get(url(case)).content.decode()
    assert "Recall R0001: Parcel 9" in page
    assert "Dora Desk" in page
    assert "5 received = 1 to be pulled + 1 set apart + 2 used up + 1 returned" in page


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        ({"witness": ""}, "Name who saw it"),
        ({"kind": ""}, "Say what became of them."),
        ({"kind": "opened"}, "Select a valid choice"),
        ({"units": []}, "Tick at least one unit."),
        ({"units": ["999999"]}, "That unit is not of this case."),
        ({"units": ["x"]}, "That unit is not of this case."),
    ],
)
def test_nothing_leaves_on_a_form_with_a_gap_and_ticks_stay(client, case, sent, words):
    first, *_ = ids(case)
    client.post(url(case, "recall-units-apart"), {"units": [first]})
    whole = {"units": [first], "kind": "returned", "witness": "Dora Desk", "reason": "Parcel 9"}
    answer = client.post(url(case, "recall-units-leave"), whole | sent)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert words in page
    assert "Parcel 9" in page
    if "units" not in sent:
        assert f'value="{first}" form="leave-form" checked' in page
    assert shown(client, case)["gone"] == []


def test_a_unit_not_set_apart_does_not_leave(client, case):
    first, *_ = ids(case)
    sent = {"units": [first], "kind": "returned", "witness": "Dora Desk"}
    answer = client.post(url(case, "recall-units-leave"), sent)
    assert answer.status_code == 422
    assert case.units.get(pk=first).movement is None


def test_ticking_nothing_is_said(client, case):
    answer = client.post(url(case, "recall-units-apart"), {})
    assert (answer.status_code, "Tick at least one unit." in answer.content.decode()) == (422, True)


def test_where_a_unit_was_looked_for_is_written_down(client, case):
    first, *_ = ids(case)
    target = url(case, "recall-unit-not-found", first)
    answer = client.post(target, {"looked_in": ""})
    assert (answer.status_code, "Say where it was looked for." in answer.content.decode()) == (
        422, True,
    )  # fmt: skip
    client.post(target, {"looked_in": "Fridge 1"})
    assert "Fridge 1" in client.get(url(case)).content.decode()
    assert client.post(url(case, "recall-unit-not-found", 999_999), {}).status_code == 404


def test_the_place_set_apart_is_offered_where_there_is_one(client, case, units):
    assert "They lie in" not in client.get(url(case)).content.decode()
    box = make_place("Recall box", site="Main", kind="apart")
    assert "They lie in" in client.get(url(case)).content.decode()
    client.post(url(case, "recall-units-apart"), {"units": ids(case)[:1], "place": box.pk})
    assert refreshed(units[2]).place == box


def test_a_drill_ticks_and_offers_no_way_out_of_the_stock(client, drill, units):
    client.post(url(drill, "recall-units-apart"), {"units": ids(drill)})
    page = client.get(url(drill)).content.decode()
    assert "Take out of the stock" not in page
    sent = {"units": ids(drill), "kind": "returned", "witness": "Dora Desk"}
    refused = client.post(url(drill, "recall-units-leave"), sent).content.decode()
    assert "nothing leaves the stock" in refused
    assert refreshed(units[2]).state == UnitState.IN_STOCK


def test_the_pull_list_is_printed_by_place(client, case):
    text = pdf_text(client.get(url(case, "recall-units-pdf")).content)
    for words in ("Pull list", "Nobody noted where", "U000003", "LOT42", "In stock"):
        assert words in text
    assert "DRILL" not in text


def test_a_list_without_units_says_so(client, owner, product):
    case = make_case(owner, span(product, "NEVERHERE"))
    assert "Nothing is left to be pulled" in client.get(url(case)).content.decode()


def closing(case, **sent) -> dict:
    keys = ("list", "to_pull", "people", "checks")
    return {f"open_{key}": "Because" for key in keys} | {
        "note": "As far as it goes", "password": PASSWORD, **sent,
    }  # fmt: skip


def test_a_case_is_closed_with_a_word_about_each_open_thing(client, case):
    page = client.get(url(case, "recall-close")).content.decode()
    assert "2 of 2 patients not reached" in page
    client.post(url(case, "recall-close"), closing(case))
    closed = refreshed(case)
    assert not closed.is_open
    assert closed.closing_note.startswith("As far as it goes\nThe call list was not called")
    shown = client.get(reverse("recall-detail", args=[case.pk])).content.decode()
    assert "By <bdi>Olga Owner</bdi>" in shown
    assert client.get(url(case, "recall-close")).status_code == 302


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        ({"open_people": " "}, "Say why it stays so, or see to it first."),
        ({"password": "wrong"}, "That is not your password, so nothing was closed."),
        ({"password": ""}, "This field is required."),
    ],
)
def test_without_a_word_or_the_password_it_stays_open(client, case, sent, words):
    answer = client.post(url(case, "recall-close"), closing(case, **sent))
    assert answer.status_code == 422
    page = answer.content.decode()
    assert words in page
    assert "As far as it goes" in page
    assert refreshed(case).is_open


def test_a_closed_case_offers_no_acts(client, case, owner):
    client.post(url(case, "recall-close"), closing(case))
    make_units(owner, make_product("Other filler 1 mL"), number="LOT42")
    for name in ("recall-detail", "recall-people", "recall-units"):
        page = client.get(url(case, name)).content.decode()
        main = page.split("<main")[1].split("</main>")[0]
        assert '<form method="post"' not in main, name
        assert 'class="form" method="post"' not in main, name
    person = case.people.first()
    page = client.get(reverse("recall-person", args=[case.pk, person.pk])).content.decode()
    assert "Note an attempt" not in page
    sent = {"product": "", "lot_first": "X"}
    answer = client.post(url(case, "recall-span-add"), sent, follow=True)
    assert "is closed and never changes" in answer.content.decode()
