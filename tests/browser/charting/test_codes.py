"""
The quick code in a real browser, against Python's own digests.

Sources: PBKDF2 by RFC 8018, HMAC by RFC 2104; hashlib and hmac are another implementation of both.
"""

import hashlib
import hmac
from uuid import uuid4

import pytest
from playwright.sync_api import Page

from clinic.tablets.models import UnlockCode
from clinic.tablets.services import check_signature
from tests.factories import PASSWORD

pytestmark = pytest.mark.django_db(transaction=True)

CODE = "703915"
SETUP = """async ([id, name]) => {
    const { TabletStore } = await import("/static/js/charting/store.js");
    await new TabletStore().write("user", { id, name });
}"""
CALL = """async ([name, values]) => {
    const code = await import("/static/js/tablet/code.js");
    return code[name](...values);
}"""


@pytest.fixture
def tablet(page, sign_in, injector) -> Page:
    """A tablet with the injector signed in; no charting screen is open."""
    sign_in(page, injector)
    page.goto("/staff/password/")
    page.evaluate(SETUP, [injector.pk, injector.full_name])
    return page


def call(page: Page, name: str, *values):
    return page.evaluate(CALL, [name, list(values)])


def test_a_code_set_on_the_tablet_signs_what_the_clinic_can_check(tablet, injector):
    assert not call(tablet, "hasCode")
    assert call(tablet, "enrol", CODE, PASSWORD) == ""
    assert call(tablet, "hasCode")
    kept = UnlockCode.objects.get(user=injector)
    derived = hashlib.pbkdf2_hmac(
        "sha256", CODE.encode(), bytes.fromhex(kept.salt), kept.iterations, 32
    )
    assert kept.key == derived.hex()
    op, session = uuid4(), uuid4()
    proof = call(tablet, "signatureProof", CODE, str(op), str(session))
    assert proof == hmac.new(derived, f"sign|{op}|{session}".encode(), "sha256").hexdigest()
    asked = {"user": injector, "device": kept.device, "op_id": op, "session_key": session}
    assert check_signature(**asked, proof=proof)


def test_neither_digits_nor_key_stay_on_the_tablet(tablet, injector):
    call(tablet, "enrol", CODE, PASSWORD)
    kept = tablet.evaluate(
        """async (id) => {
            const { TabletStore } = await import("/static/js/charting/store.js");
            return JSON.stringify(await new TabletStore().read(`code-${id}`));
        }""",
        injector.pk,
    )
    stored = UnlockCode.objects.get(user=injector)
    assert stored.salt in kept
    assert stored.key not in kept
    assert CODE not in kept


def test_a_wrong_password_sets_no_code(tablet):
    assert call(tablet, "enrol", CODE, "wrong").startswith("This is not your password")
    assert not call(tablet, "hasCode")
    assert not UnlockCode.objects.exists()


def test_codes_that_are_guessed_first_are_refused(tablet):
    # Common practice: rows, repeats and years head the published lists of guessed codes.
    weak = [
        "", "123", "123456789", "12a4", "1234", "4321", "0000", "1111", "7890", "9012", "1212",
        "123123", "19801980", "1984", "2026", "17051980", "19800517",
    ]  # fmt: skip
    assert [code for code in weak if not call(tablet, "weakness", code)] == []
    good = ["7039", "703915", "8264", "50718392", "1357"]
    assert [code for code in good if call(tablet, "weakness", code)] == []


def test_five_wrong_tries_leave_only_the_password_even_after_a_reload(tablet):
    call(tablet, "enrol", CODE, PASSWORD)
    left = [call(tablet, "verify", "1357")["left"] for _ in range(2)]
    assert call(tablet, "signatureProof", "1357", "a", "b") is None
    tablet.reload()
    left += [call(tablet, "verify", "1357")["left"] for _ in range(2)]
    assert left == [4, 3, 1, 0]
    assert call(tablet, "verify", CODE) == {"ok": False, "left": 0}
    assert call(tablet, "signatureProof", CODE, "a", "b") is None
    call(tablet, "forgive")
    assert call(tablet, "verify", CODE) == {"ok": True, "left": 5}


def test_the_right_code_gives_the_tries_back(tablet):
    call(tablet, "enrol", CODE, PASSWORD)
    call(tablet, "verify", "1357")
    assert call(tablet, "verify", CODE)["ok"]
    assert call(tablet, "triesLeft") == 5
