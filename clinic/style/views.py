"""The style page: each shared part of the pages once, to look at while changing them."""

from django.core.paginator import Paginator
from django.shortcuts import render

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.style.forms import SampleForm

STATES = [
    "due",
    "overdue",
    "booked",
    "done",
    "excused",
    "quarantined",
    "expired",
    "opened",
    "in-stock",
    "signed",
    "draft",
    "wasted",
    "returned",
    "cancelled",
    "arrived",
    "in-room",
    "offered",
    "used-up",
    "kept",
    "tried",
    "apart",
    "drill",
    "urgent",
    "warm",
    "cold",
    "missing",
]
STEPS = [
    {"label": "Screening", "state": "done", "url": ""},
    {"label": "Points", "state": "current", "url": ""},
    {"label": "Leftovers", "state": "todo", "url": ""},
    {"label": "Signature", "state": "todo", "url": ""},
]


@allow(Role.OWNER)
def style_index(request):
    """All parts with invented content; the form is shown with its errors."""
    context = {
        "form": SampleForm({"name": "", "side": "left", "plane": "deep_fat", "volume": "1.2"}),
        "states": STATES,
        "steps": STEPS,
        "page_obj": Paginator(range(143), 25).get_page(request.GET.get("page", 2)),
    }
    return render(request, "style/index.html", context)
