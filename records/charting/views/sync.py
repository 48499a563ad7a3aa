"""Where tablets bring what was done and fetch how things stand."""

from django.db import OperationalError
from django.http import HttpRequest, JsonResponse
from django.utils import timezone
from django.views.decorators.http import require_POST

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.access.sent import NotJson, sent_json
from records.charting.errors import Malformed
from records.charting.forms.envelopes import SyncRequest, read_sync
from records.charting.queries.snapshot import SKEW_SECONDS, clock_words, own_sessions, snapshots
from records.charting.queries.units import stock_seal
from records.charting.services.batch import apply_batch
from records.charting.services.operations import Result
from records.charting.services.reads import note_day_read


@allow(Role.INJECTOR)
@require_POST
def charting_sync(request: HttpRequest) -> JsonResponse:
    """
    Apply operations, then tell how the sessions asked for stand.

    The answer is written after the commit. 400 for what no tablet of ours sends, 503 when the
    database could not answer in time: nothing was stored then, and the tablet sends it again.
    """
    try:
        sent = read_sync(sent_json(request))
    except (Malformed, NotJson) as error:
        return JsonResponse({"message": str(error)}, status=400)
    try:
        return JsonResponse(_answer(request, sent))
    except OperationalError:
        return JsonResponse({"message": "The clinic is busy. It is sent again."}, status=503)


def _answer(request: HttpRequest, sent: SyncRequest) -> dict:
    now = timezone.now()
    results: list[Result] = []
    if sent.operations:
        results = apply_batch(
            operations=sent.operations, device=sent.device, sent_at=sent.sent_at,
            sender=request.user,
        )  # fmt: skip
    skew = now - sent.sent_at
    is_off = abs(skew.total_seconds()) > SKEW_SECONDS
    return {
        "now": timezone.now(),
        "user": {"id": request.user.pk, "name": str(request.user)},
        "results": [_result(result) for result in results],
        "sessions": _sessions(request, sent) if sent.wanted else {},
        "stock": stock_seal(timezone.localdate()),
        "alerts": [clock_words(int(skew.total_seconds() * 1000))] if is_off else [],
    }


def _result(result: Result) -> dict:
    return {
        "id": result.id,
        "outcome": result.outcome,
        "message": result.message,
        "conflict": result.conflict,
    }


def _sessions(request: HttpRequest, sent: SyncRequest) -> dict:
    """One's own sessions of those asked for; null for any other."""
    own = list(own_sessions(sent.wanted, request.user))
    note_day_read(request.user, [session.patient for session in own], timezone.localdate())
    found = snapshots(own, request.user)
    return {str(key): found.get(str(key)) for key in sent.wanted}
