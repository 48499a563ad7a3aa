"""The pages of quarantine: what is stopped, stopping, lifting, and the list to pull by."""

import pytest
from django.urls import reverse

from clinic.audit.models import AuditEvent
from clinic.quarantine.models import Quarantine
from clinic.quarantine.services import lift_quarantine
from clinic.stock.models import Lot
from tests.factories import make_place, make_product, make_quarantine, make_units, refreshed
from tests.pdf import pdf_text

LIST, NEW = reverse("quarantine-list"), reverse("quarantine-create")


@pytest.fixture
def product(db):
    return make_product("Soft filler", gtin="9521234543213")


def typed(product, /, **change) -> dict:
    return {
        "product": str(product.pk), "lot_first": "A10", "lot_last": "A20", "serial_first": "",
        "serial_last": "", "reason": "Notice 7", "scan": "", **change,
    }  # fmt: skip


def url(name: str, thing) -> str:
    return reverse(name, kwargs={"pk": thing.pk})


def page(client, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200
    return answer.content.decode()


# The list


def test_what_stands_and_what_was_lifted_are_told_apart(signed_in, owner, injector, product):
    make_units(owner, product, number="A15", quantity=3)
    standing = make_quarantine(owner, product, "Notice 7", lot_first="A15", lot_last="A15")
    lifted = make_quarantine(owner, product, "Notice 6", lot_first="B1", lot_last="B9")
    lift_quarantine(quarantine=lifted, reason="Answered", actor=owner)
    answer = signed_in(injector).get(LIST)
    assert [(row.quarantine, row.on_hand) for row in answer.context["standing"]] == [(standing, 3)]
    assert list(answer.context["page_obj"]) == [lifted]
    text = answer.content.decode()
    for shown in ("Lot A15", "Notice 7", "Lots B1 to B9", "Notice 6", "Answered"):
        assert shown in text


def test_an_empty_list_says_what_it_is_for(signed_in, owner):
    assert "Nothing is in quarantine" in page(signed_in(owner), LIST)


def test_the_queries_do_not_grow_with_quarantines(
    signed_in, owner, product, django_assert_max_num_queries
):
    client = signed_in(owner)
    make_quarantine(owner, product, lot_first="A1", lot_last="A1")
    with django_assert_max_num_queries(100) as few:
        client.get(LIST)
    for number in range(5):
        again = make_quarantine(owner, product, lot_first=f"B{number}", lot_last=f"B{number}")
    lift_quarantine(quarantine=again, reason="Answered", actor=owner)
    with django_assert_max_num_queries(len(few.captured_queries) + 1):  # the page of lifted ones
        client.get(LIST)


# Stopping


def test_what_it_reaches_is_shown_before_it_is_meant(signed_in, owner, product):
    client = signed_in(owner)
    for number in ("A15", "15", "B15"):
        make_units(owner, product, number=number, quantity=1)
    answer = client.post(NEW, typed(product))
    assert [row.lot.number for row in answer.context["reach"].lots] == ["A15", "15"]
    assert "Cannot be compared with A10 to A20" in answer.content.decode()
    assert not Quarantine.objects.exists()

    shown = answer.context["form"].span
    answer = client.post(NEW, typed(product, shown=shown))
    quarantine = Quarantine.objects.get()
    assert (answer.status_code, answer["Location"]) == (302, url("quarantine-detail", quarantine))
    assert (quarantine.span, quarantine.reason) == ("lots A10 to A20", "Notice 7")
    assert quarantine.placed_by == owner
    assert sorted(Lot.objects.quarantined().values_list("number", flat=True)) == ["15", "A15"]


def test_what_was_changed_after_it_was_shown_is_shown_again(signed_in, owner, product):
    client = signed_in(owner)
    shown = client.post(NEW, typed(product)).context["form"].span
    answer = client.post(NEW, typed(product, lot_last="A30", shown=shown))
    assert answer.status_code == 200
    assert "something was changed" in answer.content.decode()
    assert not Quarantine.objects.exists()


def test_a_single_lot_is_typed_once_and_none_means_the_whole_product(signed_in, owner, product):
    client = signed_in(owner)
    for change, span in [({"lot_last": ""}, "lot A10"),
                         ({"lot_first": "", "lot_last": ""}, "every lot"),
                         ({"lot_first": "", "lot_last": "", "serial_first": "7"},
                          "every lot, serial number 7")]:  # fmt: skip
        form = client.post(NEW, typed(product, **change)).context["form"]
        client.post(NEW, typed(product, **change, shown=form.span))
        assert Quarantine.objects.first().span == span


@pytest.mark.parametrize(
    ("change", "field", "message"),
    [
        ({"product": ""}, "product", "Choose the product, or scan a box"),
        ({"product": "999"}, "product", "not one of the available choices"),
        ({"lot_first": "A 1"}, "lot_first", "does not hold a blank"),
        ({"lot_first": "A" * 21}, "lot_first", "at most 20 characters"),
        ({"lot_first": ""}, "lot_first", "Type the first number of the range as well"),
        ({"lot_last": "A5"}, "lot_last", "comes before"),
        ({"lot_last": "20"}, "lot_last", "built differently"),
        ({"serial_last": "9"}, "serial_first", "Type the first number"),
        ({"serial_first": "é"}, "serial_first", "serial number does not hold"),
        ({"reason": " "}, "reason", "Say why"),
        ({"reason": "x" * 301}, "reason", "at most 300"),
    ],
)
def test_bad_input_keeps_what_was_typed(signed_in, owner, product, change, field, message):
    sent = typed(product, **change)
    answer = signed_in(owner).post(NEW, sent)
    form = answer.context["form"]
    assert message in " ".join(form.errors[field])
    assert {name: form[name].value() for name in form.fields if name in sent} == {
        name: value for name, value in sent.items() if name != "scan"
    }
    assert answer.context["reach"] is None


# Element strings: GS1 General Specifications 7.8; example prefix 952.
CODE = "010952123454321317301130" + "10A15"


def test_a_scanned_box_fills_in_product_and_lot_and_leaves_the_rest(signed_in, owner, product):
    sent = typed(product, product="", lot_first="", lot_last="A20", scan=CODE)
    answer = signed_in(owner).post(NEW, sent)
    form = answer.context["form"]
    assert (form["product"].value(), form["lot_first"].value()) == (product.pk, "A15")
    assert (form["lot_last"].value(), form["reason"].value()) == ("", "Notice 7")
    assert not form.errors
    assert '<p class="pack__lot">A15</p>' in answer.content.decode()


@pytest.mark.parametrize(
    ("code", "message"),
    [
        ("0109521234543210" + "10A15", "should be 3"),
        ("010952000000001110A15", "No product has the GTIN 09520000000011"),
        ("1730113010A15", "names no product"),
        ("+A999FILLER11/$$3271130LOT42O", "HIBC"),
    ],
)
def test_a_code_that_does_not_help_says_why_and_stays(signed_in, owner, product, code, message):
    answer = signed_in(owner).post(NEW, typed(product, scan=code))
    assert message in answer.context["scan_error"]
    assert answer.context["scan_text"] == code
    assert answer.context["form"]["lot_first"].value() == "A10"


def test_the_address_may_name_what_to_stop(signed_in, owner, product):
    form = signed_in(owner).get(NEW, {"product": product.pk, "lot_first": "A15"}).context["form"]
    assert (form["product"].value(), form["lot_first"].value()) == (str(product.pk), "A15")


def test_a_product_no_longer_in_use_can_be_stopped(signed_in, owner):
    product = make_product("Old", is_active=False)
    assert signed_in(owner).post(NEW, typed(product)).context["reach"] is not None


# One quarantine


@pytest.fixture
def standing(owner, product):
    make_units(owner, product, number="A15", quantity=2)
    make_units(owner, product, number="15", quantity=1)
    return make_quarantine(owner, product, "Notice 7", lot_first="A10", lot_last="A20")


def test_its_page_shows_what_it_holds(signed_in, injector, standing):
    text = page(signed_in(injector), url("quarantine-detail", standing))
    for shown in ("Notice 7", "Lots A10 to A20", "U000001", "Place not noted", "09521234543213"):
        assert shown in text
    assert 'id="lift"' not in text


def test_it_is_lifted_with_a_reason(signed_in, owner, standing):
    client = signed_in(owner)
    answer = client.post(url("quarantine-lift", standing), {"reason": "Answered"}, follow=True)
    assert "The quarantine is lifted." in answer.content.decode()
    assert "Answered" in answer.content.decode()
    assert (refreshed(standing).lift_reason, standing.lifted_by) == ("Answered", owner)
    again = client.post(url("quarantine-lift", standing), {"reason": "Twice"}, follow=True)
    assert "was lifted already" in again.content.decode()


@pytest.mark.parametrize("reason", ["", "x" * 301])
def test_lifting_without_a_fit_reason_comes_back_open(signed_in, owner, standing, reason):
    answer = signed_in(owner).post(url("quarantine-lift", standing), {"reason": reason})
    assert answer.status_code == 422
    assert answer.context["form"]["reason"].value() == reason
    assert "data-dialog-shown" in answer.content.decode()
    assert not refreshed(standing).is_lifted


def test_the_pull_list_names_units_by_place(signed_in, owner, injector, product):
    cupboard = make_place("Cupboard 2")
    make_units(owner, product, number="A15", quantity=2)
    Lot.objects.get().units.update(place=cupboard)
    standing = make_quarantine(owner, product, "Notice 7", lot_first="A10", lot_last="A20")
    answer = signed_in(injector).get(url("quarantine-pull-list", standing))
    assert answer["Content-Type"] == "application/pdf"
    text = pdf_text(answer.content)
    for shown in ("Units to pull", "Riverside, Cupboard 2: 2 units", "U000001", "U000002",
                  "Notice 7", "lots A10 to A20"):  # fmt: skip
        assert shown in text
    assert AuditEvent.objects.first().action == "quarantine.printed"


def test_a_lot_shows_the_quarantines_that_reach_it(signed_in, injector, standing):
    lot = Lot.objects.get(number="A15")
    panel = url("quarantine-for-lot", lot)
    assert f'hx-get="{panel}"' in page(signed_in(injector), url("lot-detail", lot))
    assert "Lots A10 to A20" in page(signed_in(injector), panel)


def test_a_lot_never_stopped_says_so(signed_in, injector, owner):
    lot = make_units(owner, make_product("Other"))[0].lot
    assert "Never in quarantine." in page(signed_in(injector), url("quarantine-for-lot", lot))


# Who and how


def test_only_the_owner_stops_and_lifts(client, owner, injector, desk, product, standing):
    lift = url("quarantine-lift", standing)
    for address, sent in [(NEW, typed(product)), (lift, {"reason": "x"})]:
        assert client.post(address, sent).status_code == 401
    for person in (injector, desk):
        client.force_login(person)
        for address, sent in [(NEW, typed(product)), (lift, {"reason": "x"})]:
            assert client.post(address, sent).status_code == 403
    assert Quarantine.objects.count() == 1
    assert not refreshed(standing).is_lifted


def test_unknown_ids_and_wrong_methods(signed_in, owner):
    client = signed_in(owner)
    for name in ("quarantine-detail", "quarantine-pull-list", "quarantine-for-lot"):
        for pk in (999, 10**30):
            assert client.get(reverse(name, kwargs={"pk": pk})).status_code == 404
    assert client.post(reverse("quarantine-lift", kwargs={"pk": 999})).status_code == 404
    assert client.get(reverse("quarantine-lift", kwargs={"pk": 999})).status_code == 405
    assert client.post(LIST).status_code == 405
    assert client.delete(NEW).status_code == 405
