"""The entries of the main navigation, by role."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.urls import reverse

from clinic.access.enums import Role
from clinic.access.rules import CLINICAL, EVERYONE


@dataclass(frozen=True)
class Entry:
    """
    Attributes:
        folders: first parts of other addresses that the entry stands for as well.
    """

    label: str
    url_name: str
    icon: str
    roles: tuple[Role, ...]
    folders: tuple[str, ...] = ()


# What is reached by way of the stock.
STOCK = (
    "receiving", "quarantine", "products", "places", "storage", "counts", "fridges", "reorder",
    "dilution",
)  # fmt: skip

ENTRIES = (
    Entry("Today", "today", "today", EVERYONE),
    Entry("Charting", "charting", "face", (Role.INJECTOR,)),
    Entry("Patients", "patient-list", "patients", EVERYONE, folders=("results/for-patient",)),
    Entry("Diary", "diary", "appointments", EVERYONE, folders=("appointments",)),
    Entry("Reviews", "review-list", "reviews", EVERYONE),
    Entry("Plans", "plan-list", "document", CLINICAL),
    Entry("Sessions", "session-list", "sessions", CLINICAL),
    Entry("Adverse events", "adverse-event-list", "caution", CLINICAL),
    Entry("Face atlas", "atlas-list", "layers", CLINICAL),
    Entry("Scan", "scanning", "scan", CLINICAL),
    Entry("Stock", "stock-list", "stock", CLINICAL, folders=STOCK),
    Entry("Lot trace", "trace", "trace", (Role.OWNER,)),
    Entry("Recalls", "recall-list", "recall", (Role.OWNER,), folders=("mailings",)),
    Entry("Use by lot", "usage", "chart", (Role.OWNER,), folders=("results/waste",)),
    Entry("Audit trail", "audit-list", "audit", (Role.OWNER,)),
    Entry("Staff", "staff-list", "staff", (Role.OWNER,)),
    Entry("Policy", "policy-edit", "policy", (Role.OWNER,), folders=("review-rules",)),
)


def navigation(request) -> dict:
    """Context: `navigation`, the entries of the person signed in."""
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return {"navigation": []}
    return {"navigation": entries_for(user.roles, request.path)}


def entries_for(roles: Iterable[Role], path: str) -> list[dict]:
    """What these roles may go to, as {label, url, icon, current}; `path` is where they are."""
    mine = [(entry, reverse(entry.url_name)) for entry in ENTRIES if set(roles) & set(entry.roles)]
    # The longest that fits; an entry's own address before one that it only stands for.
    here = [
        (len(place), place == url, entry)
        for entry, url in mine
        for place in (url, *(f"/{folder}/" for folder in entry.folders))
        if path == place or (place != "/" and path.startswith(place))
    ]
    current = max(here, key=lambda found: found[:2], default=(0, False, None))[2]
    return [
        {"label": entry.label, "url": url, "icon": entry.icon, "current": entry is current}
        for entry, url in mine
    ]
