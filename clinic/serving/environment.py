"""What a clinic's own set-up must give before the tool starts. Read by the settings alone."""

import os
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from django.core.exceptions import ImproperlyConfigured

# What Django's own check security.W009 asks of a key.
KEY_LENGTH, KEY_LETTERS = 50, 5
MADE_UP = "django-insecure-"
HOW_TO_MAKE_ONE = 'python3 -c "import secrets; print(secrets.token_urlsafe(50))"'
HERE = {"localhost", "127.0.0.1", "[::1]"}


def secret_text(name: str) -> str:
    """
    The variable `name`, or what stands in the file that `name`_FILE names; "" where neither is set.

    A file keeps a secret out of the list of processes and of what a process hands on.

    Raises:
        ImproperlyConfigured: both are set, or the file cannot be read or is empty; the message
            names the variable and never the secret.
    """
    text, place = os.environ.get(name, ""), os.environ.get(f"{name}_FILE", "")
    if text and place:
        raise ImproperlyConfigured(f"Set {name} or {name}_FILE, not both.")
    if not place:
        return text
    try:
        text = Path(place).read_text(encoding="utf-8").strip()
    except UnicodeDecodeError as error:
        raise ImproperlyConfigured(f"{name}_FILE names {place}, which is no text.") from error
    except OSError as error:
        raise ImproperlyConfigured(
            f"{name}_FILE names {place}, which cannot be read: {error.strerror}."
        ) from error
    if not text:
        raise ImproperlyConfigured(f"{name}_FILE names {place}, which is empty.")
    return text


def strong_key(name: str) -> str:
    """
    The secret `name`, which must be there and hard to guess.

    Raises:
        ImproperlyConfigured: it is missing or weak, with how to make one.
    """
    key = secret_text(name)
    if not key:
        raise ImproperlyConfigured(
            f"{name} is missing. Set it, or {name}_FILE to a file that holds it. Make one with: "
            f"{HOW_TO_MAKE_ONE}"
        )
    if len(key) < KEY_LENGTH or len(set(key)) < KEY_LETTERS or key.startswith(MADE_UP):
        raise ImproperlyConfigured(
            f"{name} is too easy to guess: it needs {KEY_LENGTH} random letters or more. Make one "
            f"with: {HOW_TO_MAKE_ONE}"
        )
    return key


def refuse_unsafe(settings: Mapping[str, Any]) -> None:
    """
    Stop the start of a clinic in production that would be open or would serve nothing of its own.

    Raises:
        ImproperlyConfigured: with everything that is wrong at once, one sentence each.
    """
    if problems := list(_unsafe(settings)):
        raise ImproperlyConfigured("CLINIC_PRODUCTION=yes, but: " + " ".join(problems))


def _unsafe(settings: Mapping[str, Any]) -> Iterator[str]:
    if settings["DEBUG"]:
        yield "CLINIC_DEBUG must not be yes: error pages would show internals."
    if not settings["SECURE"]:
        yield "CLINIC_HTTPS must not be no: records would cross the network in the open."
    hosts = settings["ALLOWED_HOSTS"]
    if not set(hosts) - HERE - {""}:
        yield "CLINIC_HOSTS must name the host people open, such as record.clinic.example."
    if any(host.startswith(("*", ".")) for host in hosts):
        yield "CLINIC_HOSTS must name whole hosts, without * or a leading point."
    if not settings["PUBLIC_URL"].startswith("https://"):
        yield "CLINIC_PUBLIC_URL or CLINIC_ORIGINS must begin with https://."
    if not secret_text("DATABASE_URL"):
        yield "DATABASE_URL, or DATABASE_URL_FILE, must name the clinic's database."
