"""Letters to print: one file, or all of them as a zip."""

from django.http import HttpRequest, HttpResponse, StreamingHttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_GET

from clinic.access.enums import Role
from clinic.access.rules import allow
from clinic.audit.services import record_read
from records.mailings.archive import file_name, zipped
from records.mailings.models import LetterBatch, Mailing


@allow(Role.OWNER)
@require_GET
def letter_file(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """One file of letters, as it was written."""
    batch = get_object_or_404(LetterBatch, mailing=pk, number=number)
    record_read(request.user, batch, action="mailing.printed")
    response = HttpResponse(bytes(batch.pdf), content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{file_name(batch)}"'
    return response


@allow(Role.OWNER)
@require_GET
def letter_zip(request: HttpRequest, pk: int) -> StreamingHttpResponse:
    """All files of letters, streamed."""
    mailing = get_object_or_404(Mailing, pk=pk)
    record_read(request.user, mailing, action="mailing.exported")
    response = StreamingHttpResponse(zipped(mailing), content_type="application/zip")
    response["Content-Disposition"] = f'attachment; filename="letters-{mailing.pk}.zip"'
    return response
