"""The back end for text messages that the settings name."""

from functools import cache

from django.conf import settings
from django.core.exceptions import ImproperlyConfigured
from django.utils.module_loading import import_string

from records.reminders.routes.protocol import TextMessageRoute


def text_message_route() -> TextMessageRoute:
    """
    The one of `settings.TEXT_MESSAGE_ROUTE`, made at its first use.

    Raises:
        ImproperlyConfigured: CLINIC_SMS names no class that can send.
    """
    return _made(settings.TEXT_MESSAGE_ROUTE)


@cache
def _made(path: str) -> TextMessageRoute:
    try:
        route = import_string(path)()
    except (ImportError, TypeError) as error:
        raise ImproperlyConfigured(f"CLINIC_SMS: {path} cannot be loaded: {error}") from error
    if not isinstance(route, TextMessageRoute):
        raise ImproperlyConfigured(
            f"CLINIC_SMS: {path} has no send(to, text, reference) and was_sent(reference)."
        )
    return route
