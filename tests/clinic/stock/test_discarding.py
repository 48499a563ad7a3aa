"""What is left in an opened unit is thrown away outside of a session."""

import pytest
from django.urls import reverse

from clinic.audit.models import AuditEvent
from clinic.stock.enums import MovementKind, UnitState
from clinic.stock.errors import StockError, UnitNotAvailable
from clinic.stock.models import UnitOfStock
from clinic.stock.services import discard_remainder
from records.sessions.enums import Remainder
from records.sessions.errors import Overdrawn
from records.sessions.queries.balances import unit_checks
from records.sessions.queries.tray import opened_units
from records.sessions.services.signing import content_digest, sign_session
from tests.factories import (
    make_patient,
    make_point,
    make_product,
    make_session_with_unit,
    make_units,
    refreshed,
)

WHY = "Kept for longer than its maker allows"


@pytest.fixture
def unit(owner) -> UnitOfStock:
    return make_units(owner, make_product(), quantity=1)[0]


@pytest.fixture
def session(injector, patient, unit):
    """0.2 of 1 mL were drawn."""
    session = make_session_with_unit(injector, patient, unit)
    make_point(session, unit, amount=200)
    return session


@pytest.fixture
def kept(injector, session, unit) -> UnitOfStock:
    """0.8 mL, kept for the patient when the session was signed."""
    sign_session(session=session, remainders={unit.pk: Remainder.KEPT}, actor=injector)
    return refreshed(unit)


def balance(unit: UnitOfStock) -> tuple[int, int, int, int]:
    unit = refreshed(unit)
    assert [check for check in unit_checks() if check.fault] == []
    assert unit.content == unit.drawn + unit.wasted + unit.remaining
    return unit.content, unit.drawn, unit.wasted, unit.remaining


def discard_url(unit) -> str:
    return reverse("unit-discard", kwargs={"pk": unit.pk})


def test_a_kept_rest_is_thrown_away_with_a_row_in_the_ledger_and_the_trail(kept, session, owner):
    thrown_away = discard_remainder(unit=kept, reason=f" {WHY} ", actor=owner)
    assert (thrown_away.kind, thrown_away.amount) == ("wasted", 800)
    assert balance(kept) == (1000, 200, 800, 0)
    row = kept.movements.last()
    assert (row.kind, row.amount, row.reason, row.by) == (MovementKind.WASTED, 800, WHY, owner)
    event = AuditEvent.objects.first()
    assert (event.action, event.subject_id, event.actor) == ("unit.wasted", str(kept.pk), owner)
    assert '"amount":"0.8 mL"' in event.data
    assert WHY in event.data
    session.refresh_from_db()
    assert content_digest(session) == session.signed_digest, "the signed session is as it was"


def test_nothing_left_no_reason_or_not_opened_is_refused(kept, owner):
    with pytest.raises(StockError, match="Say why"):
        discard_remainder(unit=kept, reason=" ", actor=owner)
    assert balance(kept) == (1000, 200, 0, 800)
    discard_remainder(unit=kept, reason=WHY, actor=owner)
    with pytest.raises(StockError, match=f"Nothing is left in unit {kept.label}"):
        discard_remainder(unit=kept, reason=WHY, actor=owner)
    sealed = make_units(owner, kept.lot.product, quantity=1)[0]
    with pytest.raises(UnitNotAvailable, match="is in stock, so it cannot be wasted"):
        discard_remainder(unit=sealed, reason=WHY, actor=owner)
    assert refreshed(sealed).state == UnitState.IN_STOCK
    assert kept.movements.filter(kind=MovementKind.WASTED).count() == 1


def test_on_the_tray_of_an_unsigned_session_it_is_empty_and_signing_still_works(
    session, unit, injector
):
    discard_remainder(unit=unit, reason="Dropped", actor=injector)
    assert balance(unit) == (1000, 200, 800, 0)
    with pytest.raises(Overdrawn):
        make_point(session, unit, amount=100)
    sign_session(session=session, remainders={}, actor=injector)
    row = session.tray.get()
    assert (row.remainder, row.remainder_amount) == (Remainder.EMPTY, 0)
    assert balance(unit) == (1000, 200, 800, 0)


def test_a_shared_vial_on_two_trays_is_discarded_once_and_both_are_signed(desk, owner, injector):
    product = make_product("Anaesthetic", kind="anaesthetic", is_single_patient=False,
                           hours_after_opening=24)  # fmt: skip
    vial = make_units(owner, product, quantity=1)[0]
    sessions = [
        make_session_with_unit(injector, make_patient(desk, name), vial)
        for name in ("Ann Example", "Bea Example")
    ]
    for session in sessions:
        make_point(session, vial, amount=150)
    discard_remainder(unit=vial, reason="A day old", actor=owner)
    assert balance(vial) == (1000, 300, 700, 0)
    for session in sessions:
        sign_session(session=session, remainders={}, actor=injector)
    assert balance(vial) == (1000, 300, 700, 0)


@pytest.mark.parametrize("who", ["owner", "injector"])
def test_the_unit_s_page_asks_why_and_does_it(request, signed_in, kept, who):
    client = signed_in(request.getfixturevalue(who))
    page_url = reverse("unit-detail", kwargs={"pk": kept.pk})
    assert discard_url(kept) in client.get(page_url).content.decode()

    answer = client.post(discard_url(kept), {"reason": ""})
    assert answer.status_code == 422
    assert "data-dialog-shown" in answer.content.decode()
    assert balance(kept)[2] == 0

    answer = client.post(discard_url(kept), {"reason": WHY}, follow=True)
    page = answer.content.decode()
    assert answer.request["PATH_INFO"] == page_url
    assert f"Unit {kept.label}: 0.8" in page
    assert "recorded as waste" in page
    assert WHY in page
    assert discard_url(kept) not in page, "nothing is left to discard"
    assert "Nothing is left in unit" in client.post(
        discard_url(kept), {"reason": WHY}, follow=True
    ).content.decode()  # fmt: skip


def test_a_sealed_unit_offers_no_discarding(signed_in, owner, unit):
    page_url = reverse("unit-detail", kwargs={"pk": unit.pk})
    client = signed_in(owner)
    assert discard_url(unit) not in client.get(page_url).content.decode()
    answer = client.post(discard_url(unit), {"reason": ""})
    assert (answer.status_code, "data-dialog-shown" in answer.content.decode()) == (422, False)


def test_the_front_desk_discards_nothing(signed_in, desk, kept):
    assert signed_in(desk).post(discard_url(kept), {"reason": WHY}).status_code == 403
    assert balance(kept)[2] == 0


def test_what_was_discarded_is_not_offered_at_the_next_session(kept, patient, owner):
    assert list(opened_units([patient.pk])) == [kept]
    discard_remainder(unit=kept, reason=WHY, actor=owner)
    assert not opened_units([patient.pk])
