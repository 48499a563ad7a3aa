"""Taking a delivery into stock."""

from django.contrib import messages
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.receiving.forms import ReceiveForm
from clinic.receiving.services import receive_lot
from clinic.stock.errors import StockError


@allow(Role.OWNER)
@require_http_methods(["GET", "HEAD", "POST"])
def receiving(request):
    """Take a delivery into stock; every unit gets a label of its own."""
    form = ReceiveForm(request.POST or None, initial={"product": request.GET.get("product")})
    if request.method == "POST" and form.is_valid():
        fields = ("product", "number", "expires_on", "quantity", "place")
        try:
            units = receive_lot(**{name: form.cleaned_data[name] for name in fields},
                                actor=request.user)  # fmt: skip
        except StockError as error:
            form.add_error(None, str(error))
        else:
            messages.success(request, f"{len(units)} received into stock.")
            url = reverse("lot-detail", kwargs={"pk": units[0].lot_id})
            return redirect(f"{url}?first={units[0].pk}&last={units[-1].pk}")
    return render(request, "receiving/receiving.html", {"form": form})
