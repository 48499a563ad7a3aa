"""
Whoever wants to know that a time was offered: a capability registers when the app is ready.

It is called in the transaction of the offer, so what it writes is kept if and only if the offer is;
it must not send anything itself.
"""

from collections.abc import Callable

from records.waiting_list.models import Offer

Listener = Callable[[Offer], None]

_registered: list[Listener] = []


def register(listener: Listener) -> None:
    _registered.append(listener)


def offer_made(offer: Offer) -> None:
    for listener in _registered:
        listener(offer)
