"""
Every password that somebody types is looked at here, so that nobody can go on guessing.

NIST SP 800-63B-4 asks for at most 100 failed tries in a row (from memory); ten in a quarter of an
hour is common practice.
"""

from collections.abc import Callable
from datetime import timedelta
from typing import TypeVar

from django.contrib.auth import get_user_model
from django.db.models import Q
from django.utils import timezone
from django.utils.crypto import salted_hmac

from clinic.audit.services import acting
from clinic.sign_in.errors import TooManyTries
from clinic.sign_in.models import FailedTry

MOST_OF_NAME = 10
# A clinic's tablets and desks may share one address, and all have slips of the keys.
MOST_OF_ADDRESS = 100
COUNTED_FOR = timedelta(minutes=15)
_KEPT_FOR = timedelta(days=1)

Found = TypeVar("Found")


def tried(check: Callable[[], Found], *, name: str, address: str | None) -> Found:
    """
    What `check` finds for a password typed at the door; nothing found is a failed try.

    Args:
        name: the user name as it was typed.
        address: `clinic.sign_in.addresses.address_of`.

    Raises:
        TooManyTries: too many failed for this name or from this address; nothing was looked at.
    """
    return _tried(check, whose=_at_the_door(name), address=address, name=name)


def proves(user, typed: str) -> bool:
    """
    Whether somebody who is signed in typed the password of `user`.

    Counted apart from the door: nobody outside can keep an injector from signing.

    Raises:
        TooManyTries: too many failed; nothing was looked at.
    """
    name = user.get_username()
    whose = _digest(f"proof|{user.pk}")
    return _tried(lambda: user.check_password(typed), whose=whose, address=None, name=name)


def forget_tries(user) -> None:
    """Somebody was given a new password."""
    FailedTry.objects.filter(
        Q(whose=_at_the_door(user.get_username())) | Q(whose=_digest(f"proof|{user.pk}"))
    ).delete()


def _tried(check: Callable[[], Found], *, whose: str, address: str | None, name: str) -> Found:
    now = timezone.now()
    # Written down first: of many at once each sees those before it, and no more than ten go on.
    row = FailedTry.objects.create(whose=whose, address=address, at=now)
    recent = FailedTry.objects.filter(at__gt=now - COUNTED_FOR)
    count = recent.filter(whose=whose).count()
    of_address = recent.filter(address=address).count() if address else 0
    if count > MOST_OF_NAME or of_address > MOST_OF_ADDRESS:
        row.delete()  # else whoever goes on trying would never be let in again
        raise TooManyTries(
            f"Too many wrong passwords. Wait {COUNTED_FOR // timedelta(minutes=1)} minutes, or ask "
            "the practice owner for a new one."
        )
    found = check()
    if found:
        FailedTry.objects.filter(whose=whose).delete()
    elif count == MOST_OF_NAME:
        _note_locked(name, address)
    FailedTry.objects.filter(at__lt=now - _KEPT_FOR).delete()
    return found


def _note_locked(name: str, address: str | None) -> None:
    user = get_user_model().objects.filter(username__iexact=name).first()
    if user is not None:
        with acting(None) as trail:
            trail.add("sign_in.locked", user, after={"address": address} if address else None)


def _at_the_door(name: str) -> str:
    return _digest(f"door|{name.casefold()}")


def _digest(text: str) -> str:
    return salted_hmac("clinic.sign_in.tries", text, algorithm="sha256").hexdigest()
