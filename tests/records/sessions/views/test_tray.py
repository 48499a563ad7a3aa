"""The tray's endpoints."""

from datetime import date

import pytest
from django.urls import reverse
from django.utils import timezone
from django.utils.html import strip_tags

from clinic.stock.enums import UnitState
from clinic.stock.services import quarantine_lot
from tests.factories import make_point, make_product, make_units, refreshed


def open_url(session) -> str:
    return reverse("tray-open", args=[session.pk])


def test_choices_offer_stock_and_say_why_not(signed_in, injector, session, units, owner):
    old = make_units(
        owner, units[0].lot.product, number="OLD", expires_on=date(2020, 1, 31), quantity=1
    )[0]
    text = signed_in(injector).get(reverse("tray-choices", args=[session.pk])).content.decode()
    assert f"Open {units[1].label}" in text
    assert "Lot OLD of HA filler 1 mL expired on 31 Jan 2020." in text
    assert f"Write down {old.label} as used" in text


def test_open_answers_with_the_unit_on_the_tray(signed_in, injector, session, units):
    answer = signed_in(injector).post(open_url(session), {"unit": units[1].pk})
    assert answer.status_code == 200
    assert f'data-unit-card="{units[1].pk}"' in answer.content.decode()
    assert refreshed(units[1]).state == UnitState.OPENED


@pytest.mark.parametrize("typed", ["U000002", "u2", " 2 "])
def test_open_by_the_label_as_people_type_it(signed_in, injector, session, units, typed):
    answer = signed_in(injector).post(open_url(session), {"label": typed})
    assert answer.status_code == 200
    assert session.tray.filter(unit=units[1]).exists()


def test_refused_unit_answers_409_with_the_reason(signed_in, injector, session, units, owner):
    quarantine_lot(lot=units[1].lot, reason="Maker asked to hold it", actor=owner)
    answer = signed_in(injector).post(open_url(session), {"unit": units[1].pk})
    assert answer.status_code == 409
    assert "in quarantine: Maker asked to hold it" in answer.json()["message"]


def test_reason_lets_it_be_written_down(signed_in, injector, session, units, owner):
    quarantine_lot(lot=units[1].lot, reason="Maker asked to hold it", actor=owner)
    form = {"unit": units[1].pk, "deviation": "Was in before the notice came"}
    answer = signed_in(injector).post(open_url(session), form)
    assert answer.status_code == 200
    assert "Reason given: Was in before the notice came" in answer.content.decode()


@pytest.mark.parametrize(
    ("form", "sentence"),
    [
        ({}, "Choose a unit, or type its label."),
        ({"label": "U9"}, "No unit of stock carries the label “U9”."),
        ({"unit": "x"}, "Select a valid choice"),
        ({"label": "U000002", "diluent": "some"}, "is not an amount"),
    ],
)
def test_bad_input_opens_nothing(signed_in, injector, session, form, sentence):
    answer = signed_in(injector).post(open_url(session), form)
    assert answer.status_code == 422
    assert sentence in answer.json()["message"]
    assert session.tray.count() == 1


@pytest.fixture
def vial(owner):
    toxin = make_product(
        "Toxin", kind="toxin", content=10_000, is_single_patient=False, hours_after_opening=24
    )
    return make_units(owner, toxin, number="T1", quantity=1)[0]


def test_shared_vial_shows_how_it_was_made_up_until_when_and_a_caution(
    signed_in, injector, session, vial
):
    answer = signed_in(injector).post(open_url(session), {"unit": vial.pk, "diluent": "2.5"})
    text = " ".join(strip_tags(answer.content.decode()).replace("\u00a0", " ").split())
    use_before = timezone.localtime(vial.opening.use_before)
    # 100 units in 2.5 mL are 4 units in 0.1 mL: dilution guides of onabotulinumtoxinA.
    assert "Shared vial: new needle and syringe for each draw" in text
    assert "2.5 mL diluent: 4 units in 0.1&nbsp;mL Made up" in text
    assert f"Use before {use_before.day} {use_before:%b, %H:%M}" in text


def test_toxin_is_not_opened_without_its_diluent(signed_in, injector, session, vial):
    answer = signed_in(injector).post(open_url(session), {"unit": vial.pk})
    assert answer.status_code == 422
    assert "the units in 0.1 mL depend on it" in answer.json()["message"]
    assert refreshed(vial).state == UnitState.IN_STOCK


def test_unknown_diluent_can_be_said_and_is_asked_about(signed_in, injector, session, vial):
    form = {"label": vial.label, "no_diluent": "on"}
    text = signed_in(injector).post(open_url(session), form).content.decode()
    assert vial.opening.diluent_ul is None
    assert f"No diluent is recorded for unit {vial.label}, Toxin." in text


def test_toxin_used_already_is_written_down_without_its_diluent(
    signed_in, injector, session, vial, owner
):
    quarantine_lot(lot=vial.lot, reason="Maker asked to hold it", actor=owner)
    form = {"unit": vial.pk, "deviation": "Was in before the notice came"}
    assert signed_in(injector).post(open_url(session), form).status_code == 200


def test_unused_unit_is_put_back(signed_in, injector, session, units):
    url = reverse("tray-put-back", args=[session.pk, units[0].pk])
    assert signed_in(injector).post(url).status_code == 200
    assert refreshed(units[0]).state == UnitState.IN_STOCK


def test_used_unit_is_not_put_back(signed_in, injector, session, units):
    make_point(session, units[0])
    url = reverse("tray-put-back", args=[session.pk, units[0].pk])
    answer = signed_in(injector).post(url)
    assert (answer.status_code, "was used" in answer.json()["message"]) == (409, True)


def test_waste_is_recorded_with_its_reason(signed_in, injector, session, units):
    url = reverse("tray-waste", args=[session.pk, units[0].pk])
    answer = signed_in(injector).post(url, {"amount": "0.03", "reason": "Primed the needle"})
    assert answer.status_code == 200
    assert refreshed(units[0]).wasted == 30


@pytest.mark.parametrize(
    ("form", "status", "sentence"),
    [
        ({"amount": "", "reason": "x"}, 422, "Type the amount that was wasted."),
        ({"amount": "0.1"}, 422, "Say why it was wasted."),
        ({"amount": "2", "reason": "x"}, 409, "1 mL remain"),
    ],
)
def test_waste_that_does_not_hold_is_refused(
    signed_in, injector, session, units, form, status, sentence
):
    answer = signed_in(injector).post(reverse("tray-waste", args=[session.pk, units[0].pk]), form)
    assert answer.status_code == status
    assert sentence in answer.json()["message"]


@pytest.mark.parametrize("route", ["tray-put-back", "tray-waste"])
def test_unit_that_is_not_on_the_tray_is_404(signed_in, injector, session, units, route):
    url = reverse(route, args=[session.pk, units[1].pk])
    assert signed_in(injector).post(url).status_code == 404


def test_owner_does_not_open_units(signed_in, owner, session, units):
    assert signed_in(owner).post(open_url(session), {"unit": units[1].pk}).status_code == 403
