"""What the waiting list does at each tick of the worker."""

from records.waiting_list.services.offers import expire_offers


def tick() -> None:
    expire_offers()
