"""The description for whoever connects a program or tests one."""

from django.http import HttpRequest, JsonResponse
from django.views.decorators.http import require_safe

from clinic.access.enums import Role
from clinic.access.rules import allow
from records.openapi.document import document


@allow(Role.OWNER)
@require_safe
def openapi_document(request: HttpRequest) -> JsonResponse:
    """The same for every clinic: nothing of a patient or of the clinic is in it."""
    return JsonResponse(document(), content_type="application/json")
