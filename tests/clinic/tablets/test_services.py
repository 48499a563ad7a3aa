"""
A tablet's code proves who signed, and for which operation only.

Sources: HMAC-SHA256 by RFC 4231, test case 2, which checks the digest that the proof is made with;
PBKDF2 by RFC 8018, section 5.2. The published PBKDF2-HMAC-SHA256 vectors are those of RFC 7914,
section 11.
"""

import hashlib
import hmac
from uuid import UUID, uuid4

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from clinic.audit.models import AuditEvent
from clinic.tablets.errors import CodeError
from clinic.tablets.models import ITERATIONS, UnlockCode
from clinic.tablets.services import check_signature, enrol_code
from tests.factories import PASSWORD, make_user

DEVICE = UUID("00000000-0000-4000-8000-000000000001")
SALT = "000102030405060708090a0b0c0d0e0f"
KEY = hashlib.pbkdf2_hmac("sha256", b"703915", bytes.fromhex(SALT), ITERATIONS, 32)


def enrol(user, **changed):
    sent = {"device": DEVICE, "salt": SALT, "key": KEY.hex(), "iterations": ITERATIONS}
    return enrol_code(user=user, **({"password": PASSWORD} | sent | changed))


def proof_of(op, session, key=KEY):
    return hmac.new(key, f"sign|{op}|{session}".encode(), "sha256").hexdigest()


def test_the_digests_are_the_published_ones():
    # RFC 4231, 4.3: key "Jefe", data "what do ya want for nothing?".
    digest = hmac.new(b"Jefe", b"what do ya want for nothing?", hashlib.sha256).hexdigest()
    assert digest == "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843"
    # RFC 7914, 11: PBKDF2-HMAC-SHA-256, "passwd", "salt", c=1, 64 bytes.
    derived = hashlib.pbkdf2_hmac("sha256", b"passwd", b"salt", 1, 64)
    assert derived.hex().startswith(
        "55ac046e56e3089fec1691c22544b605f94185216dde0465e68b9d57c20dacbc"
    )


def test_a_signature_holds_for_its_operation_session_tablet_and_person_alone(injector):
    enrol(injector)
    op, session = uuid4(), uuid4()
    asked = {
        "user": injector, "device": DEVICE, "op_id": op, "session_key": session,
        "proof": proof_of(op, session),
    }  # fmt: skip
    assert check_signature(**asked)
    assert check_signature(**asked | {"proof": asked["proof"].upper()})
    others = [
        {"op_id": uuid4()},
        {"session_key": uuid4()},
        {"device": uuid4()},
        {"user": make_user("other", is_injector=True)},
        {"proof": proof_of(op, session, key=b"0" * 32)},
        {"proof": ""},
        {"proof": "é"},
        {"proof": None},
    ]
    assert [check_signature(**asked | changed) for changed in others] == [False] * len(others)


def test_a_new_code_ends_the_earlier_one_of_this_tablet(injector):
    enrol(injector)
    second = hashlib.pbkdf2_hmac("sha256", b"8214", bytes.fromhex(SALT), ITERATIONS, 32)
    enrol(injector, key=second.hex())
    enrol(injector, device=uuid4())
    op, session = uuid4(), uuid4()
    asked = {"user": injector, "device": DEVICE, "op_id": op, "session_key": session}
    assert not check_signature(**asked, proof=proof_of(op, session))
    assert check_signature(**asked, proof=proof_of(op, session, key=second))
    assert UnlockCode.objects.count() == 2


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({"password": "wrong"}, "This is not your password"),
        ({"salt": "00"}, "did not arrive whole"),
        ({"salt": "zz" * 16}, "did not arrive whole"),
        ({"key": ""}, "did not arrive whole"),
        ({"iterations": 1000}, "did not arrive whole"),
        ({"iterations": "310000"}, "did not arrive whole"),
    ],
)
def test_a_code_is_refused_with_a_sentence_and_nothing_kept(injector, changed, told):
    with pytest.raises(CodeError, match=told):
        enrol(injector, **changed)
    assert not UnlockCode.objects.exists()
    assert not AuditEvent.objects.filter(action="tablet.code_set").exists()


def test_the_trail_says_that_a_code_was_set_and_nothing_of_it(injector):
    enrol(injector)
    event = AuditEvent.objects.get(action="tablet.code_set")
    assert event.actor == injector
    assert str(DEVICE) in event.data
    assert SALT not in event.data
    assert KEY.hex() not in event.data


def test_the_database_keeps_one_code_and_no_quickly_derived_one(injector):
    code = enrol(injector)
    again = {"user": injector, "salt": SALT, "key": KEY.hex(), "made_at": timezone.now()}
    with pytest.raises(IntegrityError), transaction.atomic():
        UnlockCode.objects.create(**again, device=code.device, iterations=ITERATIONS)
    with pytest.raises(IntegrityError), transaction.atomic():
        UnlockCode.objects.create(**again, device=uuid4(), iterations=ITERATIONS - 1)
