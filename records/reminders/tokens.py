"""
The patient's link: a token that only this clinic can make of a message's reference.

It is made anew whenever it is needed and kept nowhere: the database holds its digest, so whoever
reads the database cannot answer for a patient. Another CLINIC_SECRET_KEY ends the links that were
sent.
"""

import base64
import hashlib

from django.utils.crypto import salted_hmac

_SALT = "records.reminders.tokens"
_BYTES = 18
TOKEN_LENGTH = 24


def token_of(reference: str) -> str:
    """144 bits nobody can guess, as 24 letters that are safe in an address (RFC 4648, 5)."""
    digest = salted_hmac(_SALT, reference, algorithm="sha256").digest()
    return base64.urlsafe_b64encode(digest[:_BYTES]).decode()


def digest_of(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()
