"""The entries of the main navigation, by role."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.urls import reverse

from clinic.access.enums import Role
from clinic.access.rules import CLINICAL, EVERYONE
from clinic.access.waiting import waiting_behind


@dataclass(frozen=True)
class Entry:
    """
    Attributes:
        folders: first parts of other addresses that the entry stands for as well.
        group: the drawer it lies in; without one it stands in the rail itself, a press away.
        key: opens it from every page (static/js/shortcuts.js); "/", "?", "b", "w", "," and "." are
            taken by what stands on the pages, and "m" moves a visit of the diary.
    """

    label: str
    url_name: str
    icon: str
    roles: tuple[Role, ...]
    folders: tuple[str, ...] = ()
    group: str = ""
    key: str = ""


# The drawers of the rail and their icons, in their order: what is not opened every hour.
CARE, LOTS, PRACTICE = "Care", "Stock and lots", "Practice"
GROUPS = {CARE: "sessions", LOTS: "stock", PRACTICE: "policy"}

# What is reached by way of the stock.
STOCK = (
    "receiving", "quarantine", "products", "places", "storage", "counts", "fridges", "reorder",
    "dilution", "emergency-kit",
)  # fmt: skip

# What is reached by way of the diary; calendars that read it also from the person's own menu.
DIARY = ("appointments", "to-move", "calendars")

# What is reached by way of a patient.
PATIENTS = ("results/for-patient", "photographs", "consents")

# What the clinic sets up for itself.
POLICY = (
    "review-rules",
    "protocols",
    "sites",
    "rooms",
    "visit-kinds",
    "hours",
    "aftercare/texts",
    "consents/texts",
    "screening/questions",
    "screening/rules",
)

ENTRIES = (
    Entry("Today", "today", "today", EVERYONE, key="t"),
    Entry("Charting", "charting", "face", (Role.INJECTOR,), key="c"),
    Entry("Patients", "patient-list", "patients", EVERYONE, folders=PATIENTS, key="p"),
    Entry("Diary", "diary", "appointments", EVERYONE, folders=DIARY, key="d"),
    Entry("Follow-up", "follow-up", "reviews", EVERYONE, folders=("reviews",), key="f"),
    Entry("Waiting list", "waiting-list", "list", EVERYONE, key="l"),
    Entry("Messages", "reminder-list", "mail", EVERYONE),
    Entry("Scan", "scanning", "scan", CLINICAL),
    Entry("Plans", "plan-list", "document", CLINICAL, group=CARE),
    Entry("Sessions", "session-list", "sessions", CLINICAL, group=CARE),
    Entry(
        "Adverse events",
        "adverse-event-list",
        "caution",
        CLINICAL,
        folders=("occlusions",),
        group=CARE,
    ),
    Entry(
        "Photographs",
        "photograph-usable",
        "picture",
        (Role.OWNER,),
        folders=("photographs/series",),
        group=CARE,
    ),
    Entry("Face atlas", "atlas-list", "layers", CLINICAL, group=CARE),
    Entry("Stock", "stock-list", "stock", CLINICAL, folders=STOCK, group=LOTS),
    Entry("Lot trace", "trace", "trace", (Role.OWNER,), group=LOTS),
    Entry("Recalls", "recall-list", "recall", (Role.OWNER,), folders=("mailings",), group=LOTS),
    Entry("Use by lot", "usage", "chart", (Role.OWNER,), folders=("results/waste",), group=LOTS),
    Entry("Figures", "figures", "chart", (Role.OWNER,), group=PRACTICE),
    Entry("Outcomes", "outcome-rates", "chart", (Role.OWNER,), group=PRACTICE),
    Entry(
        "Audit trail",
        "audit-list",
        "audit",
        (Role.OWNER,),
        folders=("audit-heads",),
        group=PRACTICE,
    ),
    Entry("Unusual access", "unusual-access", "search", (Role.OWNER,), group=PRACTICE),
    Entry("Staff", "staff-list", "staff", (Role.OWNER,), group=PRACTICE),
    Entry("Policy", "policy-edit", "policy", (Role.OWNER,), folders=POLICY, group=PRACTICE),
)

# Pages beside the policy (templates/policy/_pages.html), as (label, name of the address).
BESIDE_POLICY = (
    ("Hours", "hours-list"), ("Absences", "absence-list"),
    ("Closures and public holidays", "closure-list"),
    ("Visit kinds", "visit-kind-list"), ("Rooms", "room-list"), ("Sites", "site-list"),
    ("Review rules", "review-rule-list"), ("Blocked vessel", "protocol"),
    ("Messages: policy", "reminder-policy"), ("Messages: words", "message-template-list"),
    ("Aftercare", "aftercare-text-list"), ("Medical history", "screening-questions"),
    ("Consent texts", "consent-text-list"),
)  # fmt: skip


def pages_of_owner() -> list[tuple[str, str]]:
    """The pages that the owner goes to by name, as (label, name of the address)."""
    own = [(entry.label, entry.url_name) for entry in ENTRIES if Role.OWNER in entry.roles]
    return [*own, *BESIDE_POLICY]


def navigation(request) -> dict:
    """Context: `navigation`, the entries of the person signed in."""
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return {"navigation": []}
    return {"navigation": entries_for(user.roles, request.path)}


def entries_for(roles: Iterable[Role], path: str) -> list[dict]:
    """
    What these roles may go to; `path` is where they are.

    Returns:
        Entries as {label, url, icon, key, current, waiting}, then drawers as {label, icon, current,
        entries, waiting}; a drawer that would hold one entry is that entry. `waiting` tells how
        much waits behind it, or is None.
    """
    mine = [(entry, reverse(entry.url_name)) for entry in ENTRIES if set(roles) & set(entry.roles)]
    # The longest that fits; an entry's own address before one that it only stands for.
    here = [
        (len(place), place == url, entry)
        for entry, url in mine
        for place in (url, *(f"/{folder}/" for folder in entry.folders))
        if path == place or (place != "/" and path.startswith(place))
    ]
    current = max(here, key=lambda found: found[:2], default=(0, False, None))[2]
    in_group: dict[str, list[dict]] = {"": [], **{group: [] for group in GROUPS}}
    for entry, url in mine:
        in_group[entry.group].append(
            {
                "label": entry.label,
                "url": url,
                "icon": entry.icon,
                "key": entry.key,
                "current": entry is current,
                "waiting": waiting_behind(entry.url_name),
            }
        )
    shown = in_group.pop("")
    for group, entries in in_group.items():
        shown += entries if len(entries) < 2 else [_drawer(group, entries)]
    return shown


def _drawer(group: str, entries: list[dict]) -> dict:
    """`current` is the label of the entry where the person is, or empty."""
    here = next((entry["label"] for entry in entries if entry["current"]), "")
    counts = [entry["waiting"] for entry in entries if entry["waiting"]]
    return {
        "label": group,
        "icon": GROUPS[group],
        "current": here,
        "entries": entries,
        "waiting": (lambda: sum(count() for count in counts)) if counts else None,
    }
