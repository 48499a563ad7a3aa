"""One page: scan a box, see what its code says and what is known of it."""

from urllib.parse import urlencode

from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from clinic.access.camera import reads_codes
from clinic.access.rules import CLINICAL, allow
from clinic.scanning.forms import ScanForm
from clinic.scanning.queries import find_pack


@allow(*CLINICAL)
@require_http_methods(["GET", "HEAD", "POST"])
@reads_codes
def scanning(request):
    """What one code says. Nothing is stored."""
    form = ScanForm(request.POST if request.method == "POST" else None)
    context = {"form": form}
    if form.is_valid():
        pack = find_pack(form.cleaned_data["scan"])
        text = form.data["scan"]
        context |= {
            "pack": pack,
            "receive_url": _with("receiving", scan=text),
            "create_url": _with("product-create", gtin=pack.scan.gtin),
        }
    return render(request, "scanning/scanning.html", context)


def _with(url_name: str, **query: str) -> str:
    return f"{reverse(url_name)}?{urlencode(query)}"
