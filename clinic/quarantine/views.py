"""Stopping and releasing a lot from its page."""

from django.contrib import messages
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.quarantine.services import quarantine_lot, release_lot
from clinic.stock.errors import StockError
from clinic.stock.forms import ReasonForm
from clinic.stock.views import lot_or_404, lot_page


@allow(Role.OWNER)
@require_POST
def lot_quarantine(request, pk):
    return _with_reason(
        request, lot_or_404(pk), quarantine_lot, "quarantine", "is in quarantine now."
    )


@allow(Role.OWNER)
@require_POST
def lot_release(request, pk):
    return _with_reason(request, lot_or_404(pk), release_lot, "release", "is released.")


def _with_reason(request, lot, act, dialog, done):
    """
    Do `act` for the reason typed; without one the dialog comes back open.

    Where somebody else was faster there is nothing left to do, and the page says what it found.
    """
    form = ReasonForm(request.POST)
    if not form.is_valid():
        return lot_page(request, lot, open_dialog=dialog, form=form, status=422)
    try:
        act(lot=lot, reason=form.cleaned_data["reason"], actor=request.user)
    except StockError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, f"Lot {lot.number} {done}")
    return redirect("lot-detail", pk=lot.pk)
