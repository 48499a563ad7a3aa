"""The dilution page. Published rows: two dilution guides of onabotulinumtoxinA."""

import html
import re

import pytest
from django.urls import reverse

from planning.dilution import Vial
from planning.dilution_table import ROWS
from records.sessions.services.tray import put_on_tray
from tests.factories import make_product, make_session, make_units

PAGE = reverse("dilution")
TYPED = {"content": "100", "diluent": "2.5", "wanted": "", "dose": "", "marking": "10"}


def ask(client, **typed):
    return client.get(PAGE, TYPED | typed)


def test_diluent_gives_the_strength(signed_in, injector):
    answer = ask(signed_in(injector), dose="20")
    assert answer.context["vial"] == Vial(10_000, 2_500)
    shown = answer.content.decode()
    for words in ("4\u00a0units", "0.5\u00a0mL", "100\u00a0units in 2.5\u00a0mL"):
        assert words in shown


def test_the_page_of_a_unit_leads_to_its_own_vial(signed_in, owner, injector, patient):
    """Its link names no syringe, and amounts that are read in one way only."""
    product = make_product("Toxin B", kind="toxin", content=500_000, is_single_patient=False)
    (unit,) = make_units(owner, product, quantity=1)
    session = make_session(injector, patient)
    put_on_tray(session=session, unit=unit, actor=injector, diluent="saline", diluent_ul=2_500)
    client = signed_in(injector)
    shown = client.get(reverse("session-for-unit", args=[unit.pk])).content.decode()
    (address,) = re.findall(rf'href="({PAGE}[^"]*)"', shown)
    answer = client.get(html.unescape(address))
    assert answer.status_code == 200
    assert answer.context["vial"] == Vial(500_000, 2_500)


def test_a_wanted_strength_gives_the_diluent(signed_in, owner):
    answer = ask(signed_in(owner), content="50", diluent="", wanted="4")
    assert answer.context["vial"] == Vial(5_000, 1_250)


def test_a_dose_between_two_lines_says_what_the_nearest_one_holds(signed_in, injector):
    # 4 units of 4 in 0.1 mL are 0.1 mL; 0.25 units are 0.00625 mL, nearest 0.01 mL: 0.4 units.
    answer = ask(signed_in(injector), dose="0.25")
    drawn = answer.context["asked"]
    assert (drawn.volume_ul, drawn.dose, drawn.is_exact) == (10, 40, False)
    assert "No line of this syringe holds exactly this dose" in answer.content.decode()


def test_a_third_is_said_to_be_rounded(signed_in, injector):
    assert "about 3.33\u00a0units" in ask(signed_in(injector), diluent="3").content.decode()


def test_the_known_dilutions_stand_with_their_source_before_anything_is_typed(signed_in, injector):
    answer = signed_in(injector).get(PAGE)
    assert answer.status_code == 200
    shown = answer.content.decode()
    assert shown.count("arithmetic only") == sum(not row.is_published for row in ROWS)
    for words in ("two dilution guides", "24 hours of reconstitution", "not interchangeable"):
        assert words in shown


@pytest.mark.parametrize(
    ("typed", "field", "message"),
    [
        ({"content": ""}, "content", "Type the units in the vial"),
        ({"content": "100 mL"}, "content", "units, not mL"),
        ({"diluent": "2,500"}, "diluent", "can be read in two ways"),
        ({"diluent": ""}, "diluent", "one of the two"),
        ({"wanted": "4"}, "diluent", "one of the two"),
        ({"diluent": "", "wanted": "3"}, "wanted", "about 3.333 mL"),
        ({"dose": "101"}, "dose", "second vial"),
        ({"marking": "7"}, "marking", "not one of the available"),
    ],
)
def test_bad_input_says_what_to_type_and_keeps_it(signed_in, injector, typed, field, message):
    answer = ask(signed_in(injector), **typed)
    form = answer.context["form"]
    assert answer.status_code == 422
    assert message in " ".join(form.errors[field])
    assert {name: form[name].value() for name in TYPED} == TYPED | typed
