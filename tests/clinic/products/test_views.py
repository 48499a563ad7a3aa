"""The pages of products: works, stranger, colleague, unknown id, bad input keeps what was typed."""

import pytest
from django.urls import reverse

from clinic.audit.models import AuditEvent
from clinic.products.models import Product
from tests.factories import make_product, make_units, refreshed

STORED = ["content", "gtin", "kind", "is_active", "keep_lowest_tenths", "keep_highest_tenths"]
TICKED = {"is_single_patient": True, "is_active": True}  # as a form gives ticks back
NEW = reverse("product-create")
TYPED = {
    "name": "Soft filler", "maker": "Example Maker", "kind": "ha_filler", "content": "1",
    "lidocaine": "0.3 %", "gtin": "9521234543213", "units_per_pack": "2",
    "supplier": "Example Supplies", "lead_time_days": "5", "keep_lowest": "2", "keep_highest": "8",
    "is_single_patient": "on", "hours_after_opening": "", "typical_duration_months": "9",
    "is_active": "on",
}  # fmt: skip


def edit(product) -> str:
    return reverse("product-edit", kwargs={"pk": product.pk})


def test_a_product_is_entered(signed_in, owner):
    answer = signed_in(owner).post(NEW, TYPED)
    assert (answer.status_code, answer["Location"]) == (302, reverse("product-list"))
    product = Product.objects.get()
    assert (product.kind, product.content, product.lidocaine_ug_per_ml) == ("ha_filler", 1000, 3000)
    assert product.gtin == "09521234543213"
    assert (product.is_single_patient, product.typical_duration_months) == (True, 9)
    assert (product.units_per_pack, product.supplier, product.lead_time_days) == (
        2, "Example Supplies", 5,
    )  # fmt: skip
    assert (product.keep_lowest_tenths, product.keep_highest_tenths) == (20, 80)
    assert AuditEvent.objects.first().action == "product.saved"


@pytest.mark.parametrize(
    ("lowest", "highest", "tenths"),
    [("2", "8", (20, 80)), ("2.5 °C", "7,5", (25, 75)), ("-25", "-15", (-250, -150)),
     ("", "", (None, None))],
)  # fmt: skip
def test_temperatures_are_stored_in_tenths(signed_in, owner, lowest, highest, tenths):
    signed_in(owner).post(NEW, TYPED | {"keep_lowest": lowest, "keep_highest": highest})
    product = Product.objects.get()
    assert (product.keep_lowest_tenths, product.keep_highest_tenths) == tenths
    assert product.is_cold_chain == (tenths[0] is not None)


# Element strings: GS1 General Specifications 7.8; example prefix 952.
@pytest.mark.parametrize(
    "code",
    [
        "010952123454321317301130" + "10LOT42",
        "(01)09521234543213(17)301130(10)LOT42",
        "]d2010952123454321317301130" + "10LOT42",
        "952-1234 54321-3",
    ],
)
def test_a_gtin_is_read_from_a_whole_code(signed_in, owner, code):
    assert signed_in(owner).post(NEW, TYPED | {"gtin": code}).status_code == 302
    assert Product.objects.get().gtin == "09521234543213"


def test_what_a_scan_read_is_filled_in_and_the_way_back_is_kept(signed_in, owner):
    client, url = signed_in(owner), f"{NEW}?gtin=09521234543213&name=Soft&next=/receiving/"
    form = client.get(url).context["form"]
    assert (form["gtin"].value(), form["name"].value()) == ("09521234543213", "Soft")
    assert client.post(url, TYPED)["Location"] == "/receiving/"


def test_the_way_back_leads_to_no_other_host(signed_in, owner):
    url = f"{NEW}?next=https://elsewhere.test/"
    assert signed_in(owner).post(url, TYPED)["Location"] == reverse("product-list")


@pytest.mark.parametrize(
    ("kind", "typed", "content"),
    [
        ("ha_filler", "0.55 mL", 550),
        ("anaesthetic", "5", 5000),
        ("toxin", "100", 10_000),
        ("toxin", "100 units", 10_000),
        ("hyaluronidase", "1500", 150_000),
    ],
)
def test_content_is_counted_by_kind(signed_in, owner, kind, typed, content):
    fields = TYPED | {"kind": kind, "content": typed}
    if kind in {"toxin", "hyaluronidase"}:
        fields["lidocaine"] = ""
    assert signed_in(owner).post(NEW, fields).status_code == 302
    assert Product.objects.get().content == content


@pytest.mark.parametrize(
    ("change", "field", "message"),
    [
        # GS1 General Specifications 7.9: 9521234543213 has the check digit 3
        ({"gtin": "9521234543210"}, "gtin", "should be 3, not 0"),
        ({"gtin": "9521234"}, "gtin", "8, 12, 13 or 14 digits; this one has 7"),
        ({"gtin": "0952123454321X"}, "gtin", "only the digits"),
        ({"content": "100 units"}, "content", "counted in mL, not units"),
        ({"content": "1,500"}, "content", "can be read in two ways"),
        ({"content": "0"}, "content", "above 0"),
        ({"content": ""}, "content", "This field is required"),
        ({"kind": ""}, "kind", "This field is required"),
        ({"kind": ""}, "content", "Choose the kind first"),
        ({"kind": "vitamin"}, "kind", "not one of the available choices"),
        ({"lidocaine": "0.3"}, "lidocaine", "Add the unit"),
        ({"lidocaine": "some"}, "lidocaine", "a number with its unit"),
        ({"kind": "toxin", "content": "100"}, "lidocaine", "no lidocaine by volume"),
        ({"hours_after_opening": "0"}, "hours_after_opening", "from 1 to 8,760"),
        ({"hours_after_opening": "99999"}, "hours_after_opening", "from 1 to 8,760"),
        ({"typical_duration_months": "99999"}, "typical_duration_months", "from 1 to 120"),
        ({"typical_duration_months": "9.5"}, "typical_duration_months", "whole number from 1"),
        ({"name": ""}, "name", "This field is required"),
        ({"gtin": "+A999FILLER11/$$3271130LOT42O"}, "gtin", "HIBC"),
        ({"gtin": "17301130" + "10LOT42"}, "gtin", "names no product"),
        ({"units_per_pack": "0"}, "units_per_pack", "whole number from 1 to 100"),
        ({"lead_time_days": "400"}, "lead_time_days", "whole number from 0 to 365"),
        ({"keep_lowest": "cold"}, "keep_lowest", "not a temperature"),
        ({"keep_highest": "46 F"}, "keep_highest", "°C"),
        ({"keep_highest": ""}, "keep_highest", "Give both temperatures"),
        ({"keep_lowest": ""}, "keep_lowest", "Give both temperatures"),
        ({"keep_highest": "2"}, "keep_highest", "above the lower temperature"),
    ],
)
def test_bad_input_says_what_to_do_and_keeps_what_was_typed(
    signed_in, owner, change, field, message
):
    typed = TYPED | change
    answer = signed_in(owner).post(NEW, typed)
    assert answer.status_code == 200
    form = answer.context["form"]
    assert message in " ".join(form.errors[field])
    assert message in answer.content.decode().replace("&#x27;", "'")
    assert {name: form[name].value() for name in TYPED} == typed | TICKED
    assert not Product.objects.exists()


def test_name_and_gtin_are_each_one_product(signed_in, owner):
    make_product("Soft filler", gtin="9521234543213")
    form = signed_in(owner).post(NEW, TYPED).context["form"]
    assert form.errors == {
        "name": ["Another product has this name, by Example Maker. Add what tells them apart."],
        "gtin": ["Another product has this GTIN: Soft filler."],
    }
    assert Product.objects.count() == 1


def test_the_form_shows_what_is_stored_in_the_units_people_use(signed_in, owner):
    product = make_product(content=550, lidocaine_ug_per_ml=3000)
    answer = signed_in(owner).get(edit(product))
    form = answer.context["form"]
    assert (form["content"].value(), form["lidocaine"].value()) == ("0.55", "0.3 %")
    assert "0.3 % (3 mg/mL)" in answer.content.decode()


def test_saving_the_form_as_it_is_changes_nothing(signed_in, owner):
    product = make_product(
        gtin="9521234543213", is_single_patient=False, is_active=False, keep_lowest_tenths=20,
        keep_highest_tenths=85,
    )  # fmt: skip
    client = signed_in(owner)
    form = client.get(edit(product)).context["form"]
    values = {name: form[name].value() for name in form.fields}
    typed = {name: value for name, value in values.items() if value not in (None, False)}
    assert client.post(edit(product), typed).status_code == 302
    before = {field: getattr(product, field) for field in STORED}
    refreshed(product)
    assert before == {field: getattr(product, field) for field in before} | {
        "gtin": "09521234543213"
    }


@pytest.mark.parametrize("change", [{"content": "2"}, {"kind": "other_filler"}])
def test_kind_and_content_are_locked_with_the_reason_on_the_form(signed_in, owner, change):
    product = make_product("Soft filler")
    make_units(owner, product)
    typed = TYPED | change | {"maker": "Another Maker"}
    answer = signed_in(owner).post(edit(product), typed)
    form = answer.context["form"]
    assert "so its kind and content stay" in " ".join(form.non_field_errors())
    assert {name: form[name].value() for name in TYPED} == typed | TICKED
    assert (refreshed(product).content, product.maker) == (1000, "Example Maker")


def test_the_rest_may_change_after_units_were_received(signed_in, owner):
    product = make_product("Soft filler")
    make_units(owner, product)
    answer = signed_in(owner).post(edit(product), TYPED | {"maker": "Another Maker"})
    assert answer.status_code == 302
    assert refreshed(product).maker == "Another Maker"


def test_the_list_shows_amounts_strength_and_gtin(signed_in, owner):
    make_product("Soft filler", gtin="9521234543213", units_per_pack=2)
    make_product(
        "Toxin", kind="toxin", content=10_000, lidocaine_ug_per_ml=0, keep_lowest_tenths=20,
        keep_highest_tenths=80,
    )  # fmt: skip
    page = signed_in(owner).get(reverse("product-list")).content.decode()
    for shown in ("1\u00a0mL", "100\u00a0units", "0.3 % (3 mg/mL)", "09521234543213", "no GTIN",
                  "pack of 2", "2 to 8\u00a0°C", "anywhere"):  # fmt: skip
        assert shown in page


def test_an_empty_list_says_what_to_do(signed_in, owner):
    page = signed_in(owner).get(reverse("product-list")).content.decode()
    assert "No product yet" in page
    assert NEW in page


def test_strangers_and_colleagues_do_not_enter_products(client, injector, desk):
    assert client.post(NEW, TYPED).status_code == 401
    for person in (injector, desk):
        client.force_login(person)
        assert client.post(NEW, TYPED).status_code == 403
    assert not Product.objects.exists()


def test_unknown_id_and_wrong_method(signed_in, owner):
    client = signed_in(owner)
    assert client.get(reverse("product-edit", kwargs={"pk": 999})).status_code == 404
    assert client.delete(NEW).status_code == 405
    assert client.post(reverse("product-list")).status_code == 405
