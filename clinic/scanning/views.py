"""One page: scan a box, see what its code says and what is known of it."""

from urllib.parse import urlencode

from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from clinic.access.camera import reads_codes
from clinic.access.rules import CLINICAL, allow
from clinic.scanning.forms import ScanForm
from clinic.scanning.queries import Pack, find_pack
from planning.codes.dates import written


@allow(*CLINICAL)
@require_safe
@reads_codes
def scanning(request):
    """
    What one code says, `?scan=`. Nothing is stored.

    In the address, so that the way back from a lot's page leads to what was read.
    """
    form = ScanForm(request.GET if "scan" in request.GET else None)
    context = {"form": form}
    if form.is_valid():
        pack = find_pack(form.cleaned_data["scan"])
        text = form.data["scan"]
        context |= {
            "pack": pack,
            "facts": [(label, value) for label, value in _facts(pack) if value],
            "receive_url": _with("receiving", scan=text),
            "create_url": _with("product-create", gtin=pack.scan.gtin),
        }
    return render(request, "scanning/scanning.html", context)


def _facts(pack: Pack) -> list[tuple[str, str]]:
    """What stands under the lot, as (label, value); empty where the code does not say."""
    scan = pack.scan
    expiry = written(scan.expiry) if scan.expiry else ""
    return [
        ("Expiry", f"{expiry}, {scan.expiry_time:%H:%M}" if scan.expiry_time else expiry),
        ("Serial number", scan.serial),
        ("Product number (GTIN)", scan.gtin),
        ("Maker", pack.product.maker if pack.product else ""),
        ("Made", written(scan.produced) if scan.produced else ""),
        ("Maker's own number", scan.additional_id),
    ]


def _with(url_name: str, **query: str) -> str:
    return f"{reverse(url_name)}?{urlencode(query)}"
