"""The page of an opening stock list: looked through, corrected in place, taken in once."""

import csv
import io
import re

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from clinic.receiving.models import Receipt
from clinic.stock.models import Lot, UnitOfStock
from planning.csv_text import decode
from planning.stock_list import read_stock_list
from tests.factories import make_place, make_product, make_units

PAGE, SAMPLE = reverse("stock-list-import"), reverse("stock-list-sample")
HEADINGS = "Product,Lot,Expiry,Quantity,Place"
GOOD = "Soft filler,A1,2030-06-30,3,"
BAD = "Soft filler,A 2,2030-06-30,many,"


@pytest.fixture
def soft(db):
    return make_product("Soft filler")


@pytest.fixture
def client(signed_in, owner):
    return signed_in(owner)


def text(*rows: str) -> str:
    return "\n".join((HEADINGS, *rows))


def pasted(*rows: str, act: str = "check", **more) -> dict:
    return {"list": text(*rows), "act": act, **more}


def again(answer, act: str = "check", **more) -> dict:
    """What the page sends when a button of it is pressed."""
    context = answer.context
    return {"list": context["text"], "digest": context["digest"], "whole": context["whole"],
            "act": act, **more}  # fmt: skip


def told(answer) -> list[tuple[int, list[str]]]:
    return [(row.number, [str(one) for one in row.problems]) for row in answer.context["bad_rows"]]


def test_a_list_is_looked_through_and_nothing_received(client, soft):
    answer = client.post(PAGE, pasted(GOOD, BAD))
    assert answer.context["checked"].units == 3
    ((number, problems),) = told(answer)
    assert number == 3
    assert problems[0].startswith("Lot “A 2”: a lot number does not hold a blank")
    page = answer.content.decode()
    assert 'name="cell-3-lot" value="A 2"' in page
    assert 'value="receive"' not in page
    assert not Lot.objects.exists()


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_a_file_is_read_as_what_is_pasted(client, soft, mark):
    file = SimpleUploadedFile("stock.csv", mark + text(GOOD).encode(), "text/csv")
    answer = client.post(PAGE, {"file": file, "list": "", "act": "check"})
    assert answer.context["checked"].units == 3


def test_rows_are_corrected_in_place_and_looked_through_again(client, soft):
    answer = client.post(PAGE, pasted(GOOD, BAD))
    changed = {"cell-3-lot": "A2", "cell-3-quantity": "4"}
    answer = client.post(PAGE, again(answer, **changed))
    assert told(answer) == []
    assert answer.context["checked"].units == 7
    assert "Receive all 7 units" in answer.content.decode()


def test_all_fourteen_digits_of_a_gtin_are_in_sight(client, soft):
    sent = {"list": "GTIN,Lot,Expiry,Quantity\n09521234543210,A1,2030-06-30,3", "act": "check"}
    page = client.post(PAGE, sent).content.decode()
    assert re.search(r'bad-row__wide">\s*<label class="field__label" for="cell-2-gtin"', page)


def test_a_name_is_corrected_in_all_its_rows_at_once(client, soft):
    cupboard = make_place("Cupboard 2")
    rows = [f"soft,A{number},2030-06-30,1,Cupbord 2" for number in range(60)]
    answer = client.post(PAGE, pasted(*rows))
    assert told(answer) == []  # asked about once, not row by row
    assert [(one.name, one.rows) for one in answer.context["unknown_names"]] == [
        ("soft", 60), ("Cupbord 2", 60),
    ]  # fmt: skip
    chosen = {
        "was-product-1": "soft", "rename-product-1": "Soft filler",
        "was-place-2": "Cupbord 2", "rename-place-2": str(cupboard),
    }  # fmt: skip
    answer = client.post(PAGE, again(answer, **chosen))
    assert answer.context["checked"].is_ready
    assert {line.place for _, line in answer.context["checked"].lines} == {cupboard}


def test_a_name_left_as_it_is_stays(client, soft):
    answer = client.post(PAGE, pasted("soft,A1,2030-06-30,1,"))
    answer = client.post(PAGE, again(answer, **{"was-product-1": "soft", "rename-product-1": ""}))
    assert [one.name for one in answer.context["unknown_names"]] == ["soft"]


def test_the_bad_rows_are_given_as_a_file_with_the_reason(client, soft):
    answer = client.post(PAGE, pasted(GOOD, BAD, "=1+1,A3,2030-06-30,1,", act="bad-rows"))
    assert answer["Content-Disposition"] == 'attachment; filename="rows-to-correct.csv"'
    rows = list(csv.reader(io.StringIO(decode(answer.content))))
    assert rows[0] == ["Product", "Lot", "Expiry", "Quantity", "Place", "Reason"]
    assert rows[1][:4] == ["Soft filler", "A 2", "2030-06-30", "many"]
    assert "does not hold a blank" in rows[1][5]
    assert "type the number of units" in rows[1][5]
    assert rows[2][0] == "'=1+1"  # no spreadsheet computes it


def test_bad_rows_left_out_come_back_when_the_others_are_received(client, soft):
    answer = client.post(PAGE, pasted(GOOD, BAD))
    answer = client.post(PAGE, again(answer, "without-bad-rows"))
    assert answer.context["checked"].is_ready
    assert "Rows left out for now: 1" in answer.content.decode()
    answer = client.post(PAGE, again(answer, "receive"))
    assert UnitOfStock.objects.count() == 3
    ((number, _),) = told(answer)
    assert number == 3
    page = answer.content.decode()
    assert "3 units received into stock." in page
    assert "The other rows are received" in page
    assert reverse("receiving-labels", kwargs={"pk": Receipt.objects.get().pk}) in page
    assert "Nothing is received yet" not in page

    answer = client.post(PAGE, again(answer, **{"cell-3-lot": "A2", "cell-3-quantity": "4"}))
    client.post(PAGE, again(answer, "receive"))
    assert UnitOfStock.objects.count() == 7
    assert Receipt.objects.count() == 2


def test_a_list_in_order_is_taken_in_and_its_labels_shown(client, soft):
    answer = client.post(PAGE, pasted(GOOD))
    answer = client.post(PAGE, again(answer, "receive"), follow=True)
    receipt = Receipt.objects.get()
    assert answer.request["PATH_INFO"] == reverse("receiving-labels", kwargs={"pk": receipt.pk})
    assert "U000001 to U000003" in answer.content.decode()


def test_confirming_twice_takes_it_in_once(client, soft):
    sent = again(client.post(PAGE, pasted(GOOD)), "receive")
    client.post(PAGE, sent)
    # By now its lot is in the books, which is a question of its own.
    answer = client.post(PAGE, sent | {"is_sure": "on"}, follow=True)
    assert "already: nothing was received again" in answer.content.decode()
    assert UnitOfStock.objects.count() == 3


def test_questions_are_looked_at_first(client, soft, owner):
    make_units(owner, soft, number="A1", quantity=1)
    answer = client.post(PAGE, pasted(GOOD))
    assert "in the books already" in answer.content.decode()
    refused = client.post(PAGE, again(answer, "receive"))
    assert "look at the questions" in refused.context["problem"]
    assert UnitOfStock.objects.count() == 1
    client.post(PAGE, again(answer, "receive", is_sure="on"))
    assert UnitOfStock.objects.count() == 4


def test_what_changed_meanwhile_is_shown_instead_of_received(client, soft):
    answer = client.post(PAGE, pasted(GOOD))
    sent = again(answer, "receive", list=text("Soft filler,A1,2030-06-30,9,"))
    assert "not the list that was shown" in client.post(PAGE, sent).context["problem"]
    assert not Lot.objects.exists()


def test_no_more_rows_are_corrected_at_a_time_than_a_form_holds(client, soft):
    answer = client.post(PAGE, pasted(*[BAD] * 300))
    assert len(answer.context["bad_rows"]) == 40
    assert answer.context["more_bad_rows"] == 260
    assert len(re.findall(r"<(?:input|select|textarea)\b", answer.content.decode())) < 600


def test_rows_above_the_headings_keep_their_numbers_through_the_page(client, soft):
    answer = client.post(PAGE, {"list": f"\n\n{text(BAD)}", "act": "check"})
    assert [number for number, _ in told(answer)] == [4]
    shown = re.search(r'<textarea name="list" hidden>\n(.*?)</textarea>',
                      answer.content.decode(), re.DOTALL)  # fmt: skip
    assert shown[1].startswith("\n\nProduct")


@pytest.mark.parametrize(
    ("sent", "field", "words"),
    [
        ({}, "file", "Choose a file, or paste the list"),
        ({"list": "  \n "}, "file", "Choose a file, or paste the list"),
        ({"list": "Lot,Expiry,Quantity\nA1,2030-06-30,1"}, "list", "Product or GTIN"),
        ({"list": "nonsense"}, "list", "Missing: Product or GTIN, Lot"),
        ({"list": HEADINGS}, "list", "no row below the headings"),
        ({"list": f'{HEADINGS}\n"open'}, "list", "quotation marks"),
        ({"list": "a\x00b"}, "list", "Null characters"),
    ],
)
def test_what_is_no_list_says_what_to_do_and_stays(client, soft, sent, field, words):
    answer = client.post(PAGE, sent | {"act": "check"})
    form = answer.context["form"]
    assert words in " ".join(form.errors[field])
    assert form["list"].value() == sent.get("list")


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"PK\x03\x04xxxx", "a spreadsheet, not a CSV file"),
        (b"%PDF-1.7", "a PDF, not a CSV file"),
        (b"\xff\xfe\x00", "cannot be read"),
        (b"x" * 2_000_001, "at most 2 MB"),
    ],
)
def test_a_file_that_is_no_list_says_what_to_do(client, data, words):
    file = SimpleUploadedFile("stock.csv", data, "text/csv")
    form = client.post(PAGE, {"file": file, "act": "check"}).context["form"]
    assert words in " ".join(form.errors["file"])


@pytest.mark.parametrize(
    "more",
    [
        {"cell-1-lot": "x"},
        {"cell-99-lot": "x"},
        {"cell-2-nonsense": "x"},
        {"cell-2-gtin": "x"},
        {"rename-product-1": "x"},
        {"act": "nonsense"},
        {"act": "without-bad-rows"},
        {"whole": "nonsense"},
    ],
)
def test_what_the_page_never_sends_changes_nothing(client, soft, more):
    answer = client.post(PAGE, pasted(GOOD) | more)
    assert answer.status_code == 200
    assert not Lot.objects.exists()


@pytest.mark.parametrize("whole", [text(GOOD), HEADINGS, "nonsense"])
def test_a_list_of_which_nothing_was_left_out_leads_to_its_labels(client, soft, whole):
    answer = client.post(PAGE, pasted(GOOD))
    answer = client.post(PAGE, again(answer, "receive", whole=whole))
    assert (answer.status_code, UnitOfStock.objects.count()) == (302, 3)


def test_the_sample_is_a_list_that_can_be_read(client):
    answer = client.get(SAMPLE)
    assert answer["Content-Disposition"] == 'attachment; filename="opening-stock.csv"'
    sample = read_stock_list(decode(answer.content))
    assert (len(sample.lines), sample.bad_rows, sample.unknown_columns) == (5, (), ())


def test_only_the_owner_takes_in_a_list(client, injector, desk, soft):
    for person in (injector, desk):
        client.force_login(person)
        assert client.post(PAGE, pasted(GOOD)).status_code == 403
        assert client.get(SAMPLE).status_code == 403
    client.logout()
    assert client.post(PAGE, pasted(GOOD)).status_code == 401


def test_wrong_methods(client):
    assert client.delete(PAGE).status_code == 405
    assert client.post(SAMPLE).status_code == 405
