"""The chart note as PDF."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_safe

from clinic.access.rules import CLINICAL, allow
from records.notes.services import give_out_note
from records.sessions.models import TreatmentSession


@allow(*CLINICAL)
@require_safe
def note_pdf(request, pk: int):
    """The note of session `pk`."""
    session = get_object_or_404(
        TreatmentSession.objects.standing().select_related("patient", "injector"), pk=pk
    )
    response = HttpResponse(
        give_out_note(session=session, actor=request.user), content_type="application/pdf"
    )
    response["Content-Disposition"] = f'inline; filename="chart-note-{session.pk}.pdf"'
    return response
