"""The pages of a count: started, counted, compared, posted, printed."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clinic.counts.enums import CountScope
from clinic.counts.models import CountedExtra, StockCount
from clinic.counts.queries import progress
from clinic.counts.services.counting import give_up, start_count
from clinic.counts.services.posting import unit_key
from clinic.stock.enums import UnitState
from tests.clinic.counts.conftest import GTIN
from tests.factories import make_product, make_session_with_unit, make_units, refreshed
from tests.pdf import pdf_text

LIST, START = reverse("count-list"), reverse("count-start")
HTMX = {"HX-Request": "true"}


def at(name: str, thing) -> str:
    return reverse(name, kwargs={"pk": thing.pk})


def page_of(answer) -> str:
    return answer.content.decode()


# Starting


def test_a_place_is_started_from_its_own_page(signed_in, injector, cupboard):
    client = signed_in(injector)
    form = client.get(START, {"place": cupboard.pk}).context["form"]
    assert (form["scope"].value(), form["place"].value()) == ("place", str(cupboard.pk))
    answer = client.post(START, {"scope": "place", "place": cupboard.pk})
    assert answer.headers["Location"] == at("count-detail", StockCount.objects.get())


def test_whoever_starts_what_is_being_counted_comes_to_that_count(
    signed_in, owner, count, cupboard
):
    client = signed_in(owner)
    answer = client.post(START, {"scope": "place", "place": cupboard.pk}, follow=True)
    assert answer.redirect_chain == [(at("count-detail", count), 302)]
    assert "is being counted already" in page_of(answer)


@pytest.mark.parametrize(
    ("sent", "field", "words"),
    [
        ({"place": ""}, "scope", "What is counted is required."),
        ({"scope": "place"}, "place", "Choose the place that is counted."),
        ({"scope": "place", "place": "999"}, "place", "not one of the available choices"),
        ({"scope": "shelf"}, "scope", "not one of the available choices"),
    ],
)
def test_what_is_counted_has_to_be_said(signed_in, injector, sent, field, words):
    answer = signed_in(injector).post(START, sent)
    assert words in str(answer.context["form"].errors[field])
    assert not StockCount.objects.exists()


def test_a_place_chosen_beside_the_whole_stock_is_left_out(signed_in, injector, cupboard):
    signed_in(injector).post(START, {"scope": "everything", "place": cupboard.pk})
    assert StockCount.objects.get().place is None


# Counting


def test_a_scan_answers_with_what_became_of_it_and_the_list_anew(signed_in, injector, count, units):
    sent = {"code": f"(01){GTIN}(10)LOT42"}
    answer = signed_in(injector).post(at("count-scan", count), sent, headers=HTMX)
    page = page_of(answer)
    assert page.lstrip().startswith('<section class="panel" id="count-scan"')
    assert f"Unit {units[0].label}, lot LOT42: 1 of 3 here." in page
    assert 'id="count-live"' in page
    assert 'hx-swap-oob="true"' in page


def test_without_scripts_a_scan_answers_with_the_whole_page(signed_in, injector, count):
    answer = signed_in(injector).post(at("count-scan", count), {"code": "u1"})
    assert page_of(answer).lstrip().startswith("<!DOCTYPE html>")


def test_a_code_that_cannot_be_read_comes_back_with_the_reason(signed_in, injector, count):
    answer = signed_in(injector).post(at("count-scan", count), {"code": 'x"<b>'}, headers=HTMX)
    page = page_of(answer)
    assert answer.status_code == 422
    assert "not a GS1 code" in page
    assert 'value="x&quot;&lt;b&gt;"' in page
    assert 'aria-invalid="true"' in page


def test_a_box_too_many_asks_which_one_it_is_and_the_field_is_free_for_the_next(
    signed_in, injector, owner, count, units, product, room
):
    client = signed_in(injector)
    (there,) = make_units(owner, product, quantity=1, place=room)
    for _ in range(4):
        answer = client.post(
            at("count-scan", count), {"code": f"(01){GTIN}(10)LOT42"}, headers=HTMX
        )
    page = page_of(answer)
    assert "The one of <bdi>Riverside, Room 1</bdi>" in page
    assert there.label in page
    assert 'name="code" value=""' in page
    client.post(at("count-scan-extra", count), {"code": f"(01){GTIN}(10)LOT42"})
    assert CountedExtra.objects.get().quantity == 1


def test_a_press_ticks_a_unit_and_another_takes_it_back(signed_in, injector, count, units):
    client = signed_in(injector)
    page = page_of(client.post(at("count-see", count), {"unit": units[0].pk}, headers=HTMX))
    assert 'aria-pressed="true"' in page
    assert count.seen.get().unit == units[0]
    page = page_of(client.post(at("count-take-back", count), {"unit": units[0].pk}, headers=HTMX))
    assert 'aria-pressed="true"' not in page
    answer = client.post(at("count-see", count), {"unit": units[0].pk})
    assert answer.headers["Location"] == at("count-detail", count)


def test_who_counted_all_is_told_who_posts_it(signed_in, owner, injector, count, units, see):
    """On the page, and on a tablet that asks for what others did."""
    done = "Nothing more is to be done: the practice owner"
    client = signed_in(injector)
    see(count, *units[:2])
    page = page_of(client.get(at("count-detail", count)))
    assert "The practice owner compares it with the books and posts it." in page
    assert done not in page
    see(count, units[2])
    for name in ("count-detail", "count-progress"):
        assert done in page_of(client.get(at(name, count)))
    assert done not in page_of(signed_in(owner).get(at("count-detail", count)))


@pytest.mark.parametrize("unit", ["", "x", "999999", "-1", "²"])
def test_a_unit_that_is_none_is_not_found(signed_in, injector, count, unit):
    assert signed_in(injector).post(at("count-see", count), {"unit": unit}).status_code == 404


def test_an_opened_unit_is_not_ticked_and_the_page_says_why(
    signed_in, injector, count, units, patient
):
    make_session_with_unit(injector, patient, units[0])
    answer = signed_in(injector).post(at("count-see", count), {"unit": units[0].pk}, headers=HTMX)
    assert "only unopened units are counted" in page_of(answer)


def test_a_tablet_asks_for_what_others_did_and_gets_it_once(signed_in, injector, count, units, see):
    client, url = signed_in(injector), at("count-progress", count)
    mark = progress(count).mark
    assert client.get(url, {"mark": mark}).status_code == 204
    see(count, units[0])
    answer = client.get(url, {"mark": mark})
    assert (answer.status_code, answer.context["progress"].seen) == (200, 1)
    assert client.get(url, {"mark": progress(count).mark}).status_code == 204


def test_a_tablet_whose_count_is_over_is_told(signed_in, injector, count, units):
    give_up(count=count, reason="Fire alarm", actor=injector)
    client = signed_in(injector)
    assert client.get(at("count-progress", count)).headers["HX-Refresh"] == "true"
    answer = client.post(at("count-see", count), {"unit": units[0].pk}, headers=HTMX)
    assert answer.headers["HX-Redirect"] == at("count-detail", count)
    answer = client.post(at("count-scan", count), {"code": "u1"}, follow=True)
    assert "was given up by Ida Injector" in page_of(answer)


def test_the_page_takes_as_many_queries_for_many_units(
    signed_in, injector, owner, count, product, cupboard, django_assert_num_queries
):
    client = signed_in(injector)
    with CaptureQueriesContext(connection) as few:
        client.get(at("count-detail", count))
    for number in range(3):
        make_units(owner, product, number=f"M{number}", quantity=9, place=cupboard)
    with django_assert_num_queries(len(few)):
        client.get(at("count-detail", count))


# Lines in nobody's books

TYPED = {"number": "NEW1", "expires_on": "2030-01-31", "serial": "", "quantity": "2"}


def test_a_line_is_written_by_hand_and_taken_out(signed_in, injector, count, product):
    client = signed_in(injector)
    answer = client.post(at("count-extra-add", count), TYPED | {"product": product.pk})
    assert answer.headers["Location"] == at("count-detail", count)
    extra = CountedExtra.objects.get()
    assert (extra.product, extra.quantity, extra.by) == (product, 2, injector)
    client.post(at("count-extra-edit", extra), TYPED | {"product": product.pk, "quantity": "5"})
    assert refreshed(extra).quantity == 5
    client.post(at("count-extra-remove", extra))
    assert not CountedExtra.objects.exists()


@pytest.mark.parametrize(
    ("change", "field", "words"),
    [
        ({"product": ""}, "product", "Product is required."),
        ({"number": "A B"}, "number", "does not hold a blank"),
        ({"expires_on": ""}, "expires_on", "Expiry date is required."),
        ({"expires_on": "3030-01-01"}, "expires_on", "Type a year"),
        ({"quantity": "0"}, "quantity", "whole number from 1 to 500"),
        ({"serial": "S1"}, "quantity", "A serial number is of one box"),
    ],
)
def test_a_line_that_cannot_be_says_why(signed_in, injector, count, product, change, field, words):
    sent = TYPED | {"product": product.pk} | change
    answer = signed_in(injector).post(at("count-extra-add", count), sent)
    assert words in str(answer.context["form"].errors[field])
    assert not CountedExtra.objects.exists()


def test_the_same_lot_is_not_written_twice(signed_in, injector, count, product):
    client, sent = signed_in(injector), TYPED | {"product": product.pk}
    client.post(at("count-extra-add", count), sent)
    answer = client.post(at("count-extra-add", count), sent)
    assert "has a line already" in page_of(answer)


def test_a_scanned_line_without_a_product_is_completed_by_hand(signed_in, owner, count, product):
    client = signed_in(owner)
    client.post(at("count-scan", count), {"code": "(01)09521234543220(10)NEW1"})
    extra = CountedExtra.objects.get()
    page = page_of(client.get(at("count-extra-edit", extra)))
    assert f"{reverse('product-create')}?gtin=09521234543220" in page
    client.post(at("count-extra-edit", extra), TYPED | {"product": product.pk})
    assert (refreshed(extra).product, extra.gtin) == (product, "")


# Comparing and posting


def test_the_owner_explains_each_line_and_posts(signed_in, owner, count, units, see):
    see(count, units[0])
    client, url = signed_in(owner), at("count-compare", count)
    page = page_of(client.get(url))
    assert page.count("by nobody") == 2
    sent = {unit_key(units[1]): "Lent to Park Lane", unit_key(units[2]): "Broken"}
    answer = client.post(url, sent, follow=True)
    assert answer.redirect_chain == [(at("count-detail", count), 302)]
    assert [line.explanation for line in answer.context["lines"]] == [
        "Lent to Park Lane", "Broken",
    ]  # fmt: skip


def test_a_line_left_empty_is_marked_and_what_was_typed_stays(signed_in, owner, count, units):
    sent = {unit_key(units[0]): "Broken <i>", unit_key(units[1]): "", unit_key(units[2]): ""}
    answer = signed_in(owner).post(at("count-compare", count), sent)
    page = page_of(answer)
    assert answer.status_code == 422
    assert page.count("Say why.") == 2
    assert 'value="Broken &lt;i&gt;"' in page
    assert refreshed(count).is_open


def test_a_character_that_no_database_keeps_is_said_at_its_line(signed_in, owner, count, units):
    """PostgreSQL refuses a zero byte in a text, SQLite keeps it."""
    sent = {unit_key(unit): "Broken" for unit in units} | {unit_key(units[1]): "Bro\x00ken"}
    answer = signed_in(owner).post(at("count-compare", count), sent)
    assert answer.status_code == 422
    assert page_of(answer).count("cannot be stored") == 1
    assert refreshed(count).is_open


def test_one_reason_can_stand_for_every_line_left_empty(signed_in, owner, count, units):
    sent = {unit_key(unit): "" for unit in units} | {"for-all": "Shelf fell"}
    sent[unit_key(units[0])] = "Broken"
    signed_in(owner).post(at("count-compare", count), sent)
    said = count.differences.order_by("unit_id").values_list("explanation", flat=True)
    assert list(said) == ["Broken", "Shelf fell", "Shelf fell"]


def test_a_difference_that_arose_meanwhile_is_asked_for(
    signed_in, owner, count, units, see, injector, patient
):
    """The page was opened before one of the units was taken back."""
    see(count, *units[:2])
    count.seen.filter(unit=units[1]).delete()
    answer = signed_in(owner).post(at("count-compare", count), {unit_key(units[2]): "Broken"})
    assert answer.status_code == 422
    assert unit_key(units[1]) in page_of(answer)
    make_session_with_unit(injector, patient, units[1])
    answer = signed_in(owner).post(at("count-compare", count), {unit_key(units[2]): "Broken"})
    assert answer.status_code == 302
    assert refreshed(units[1]).state == UnitState.OPENED


def test_a_count_that_is_over_shows_its_result_instead(signed_in, owner, count, post):
    post(count)
    client = signed_in(owner)
    assert client.get(at("count-compare", count)).headers["Location"] == at("count-detail", count)
    answer = client.post(at("count-compare", count), {}, follow=True)
    assert "was posted by Olga Owner" in page_of(answer)


def test_an_injector_counts_but_does_not_post(signed_in, injector, count):
    client = signed_in(injector)
    assert at("count-compare", count) not in page_of(client.get(at("count-detail", count)))
    assert client.post(at("count-compare", count), {}).status_code == 403


def test_giving_up_needs_a_reason_and_stays_in_the_list(signed_in, injector, count):
    client, url = signed_in(injector), at("count-give-up", count)
    answer = client.post(url, {"reason": ""})
    assert answer.status_code == 422
    assert "data-dialog-shown" in page_of(answer)
    client.post(url, {"reason": "Fire alarm"})
    page = page_of(client.get(LIST))
    assert "Given up" in page
    assert "Fire alarm" in page
    assert "Fire alarm" in page_of(client.get(at("count-detail", count)))


def test_the_list_shows_counts_under_way_apart_from_those_that_are_over(
    signed_in, owner, injector, count, units, post, cupboard, see, django_assert_num_queries
):
    see(count, units[0])
    post(count)
    running = start_count(scope=CountScope.PLACE, place=cupboard, actor=injector)
    client = signed_in(owner)
    with CaptureQueriesContext(connection) as few:
        answer = client.get(LIST)
    assert list(answer.context["under_way"]) == [running]
    (over,) = answer.context["page_obj"]
    assert (over, over.units_seen, over.units_differing) == (count, 1, 2)
    give_up(count=running, reason="Fire alarm", actor=injector)
    start_count(scope=CountScope.PLACE, place=cupboard, actor=injector)
    with django_assert_num_queries(len(few)):
        client.get(LIST)


# On paper


def test_the_sheet_lists_what_is_expected_with_a_box_for_each_unit(
    signed_in, injector, count, units
):
    answer = signed_in(injector).get(at("count-pdf", count))
    text = pdf_text(answer.content)
    for words in ("Count sheet", "Riverside, Cupboard", "LOT42", *(u.label for u in units)):
        assert words in text


def test_the_result_is_printed_with_its_reasons(signed_in, owner, count, units, see, post):
    see(count, *units[:2])
    post(count, "Lent to Park Lane")
    text = pdf_text(signed_in(owner).get(at("count-pdf", count)).content)
    for words in ("Stock count", units[2].label, "Missing at count", "Lent to Park Lane"):
        assert words in text


def test_strangers_unknown_counts_and_wrong_methods(client, injector, count):
    assert client.get(LIST).status_code == 302
    client.force_login(injector)
    for name in ("count-detail", "count-pdf", "count-progress"):
        assert client.get(reverse(name, kwargs={"pk": 999})).status_code == 404
        assert client.post(at(name, count)).status_code == 405
    for name in ("count-scan", "count-see", "count-give-up"):
        assert client.get(at(name, count)).status_code == 405


def test_long_and_foreign_names_are_kept_whole(signed_in, injector, owner, cupboard):
    name = "عبد الرحمن " + "Über-Füllmaterial " * 8
    make_units(owner, make_product(name.strip()), place=cupboard)
    count = start_count(scope=CountScope.PLACE, place=cupboard, actor=injector)
    assert name.strip() in page_of(signed_in(injector).get(at("count-detail", count)))
