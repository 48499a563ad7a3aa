"""
Whether a message about a review can be sent from here.

Messages are a capability of their own; the list knows it by the name of its route alone.
"""

from django.urls import NoReverseMatch, reverse

ROUTE = "reminder-send-review"


def send_address(review: int) -> str:
    """Where a message about this review is sent from; empty where nothing can be sent."""
    try:
        return reverse(ROUTE, args=[review])
    except NoReverseMatch:
        return ""


def can_send() -> bool:
    return bool(send_address(1))
