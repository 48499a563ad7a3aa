"""Setting a quick code on a tablet, and checking what was signed with it."""

import hashlib
import hmac
import re
from uuid import UUID

from django.utils import timezone

from clinic.audit.services import acting
from clinic.sign_in.errors import TooManyTries
from clinic.sign_in.services import proves
from clinic.tablets.errors import CodeError
from clinic.tablets.models import ITERATIONS, KEY_BYTES, SALT_BYTES, UnlockCode

_HEX = re.compile(r"(?:[0-9a-f]{2})+")


def enrol_code(
    *, user, device: UUID, salt: str, key: str, iterations: int, password: str
) -> UnlockCode:
    """
    Keep what a tablet derived from a person's new code; an earlier code there ends.

    Args:
        salt: 16 random bytes as hex.
        key: PBKDF2-HMAC-SHA256(code, salt, iterations), 32 bytes as hex.
        password: the account's, because whoever sets a code can sign with it.

    Raises:
        CodeError: wrong password, or values that no tablet of ours makes.
    """
    try:
        is_own = proves(user, password)
    except TooManyTries as error:
        raise CodeError(str(error)) from error
    if not is_own:
        raise CodeError("This is not your password. Small and capital letters count.")
    if not (_is_hex(salt, SALT_BYTES) and _is_hex(key, KEY_BYTES) and iterations == ITERATIONS):
        raise CodeError("The code did not arrive whole. Load the page anew and set it again.")
    with acting(user) as trail:
        code, _ = UnlockCode.objects.update_or_create(
            user=user,
            device=device,
            defaults={
                "salt": salt, "key": key, "iterations": iterations, "made_at": timezone.now(),
            },
        )  # fmt: skip
        trail.add("tablet.code_set", code, after={"user": user.pk, "device": str(device)})
    return code


def check_signature(*, user, device: UUID, op_id: UUID, session_key: UUID, proof: str) -> bool:
    """
    Whether `proof` was made on this tablet with this person's code, for this very operation.

    It is HMAC-SHA256(key, "sign|<op id>|<session key>") as hex (RFC 2104), ids as lower-case
    UUIDs. False as well where no code was set.
    """
    code = UnlockCode.objects.filter(user=user, device=device).first()
    if code is None or not isinstance(proof, str):
        return False
    told = f"sign|{op_id}|{session_key}".encode()
    expected = hmac.new(bytes.fromhex(code.key), told, hashlib.sha256).hexdigest()
    return hmac.compare_digest(expected.encode(), proof.lower().encode())


def _is_hex(text: str, length: int) -> bool:
    return len(text) == 2 * length and _HEX.fullmatch(text) is not None
