"""What must be there before pages can be served."""

from django.conf import settings
from django.contrib.staticfiles.storage import ManifestFilesMixin
from django.core.checks import CheckMessage, Warning, register
from django.core.files.storage import storages

NOT_COLLECTED = "The static files are not collected, so every page would fail."
WHAT_TO_DO = "Run manage.py collectstatic, or set CLINIC_DEBUG=yes on a developer's machine."


def static_files_are_missing() -> bool:
    """Whether pages would name hashed static files that nobody has collected."""
    storage = storages["staticfiles"]
    if settings.DEBUG or not isinstance(storage, ManifestFilesMixin):
        return False
    return storage.read_manifest() is None


@register()
def static_files_are_collected(app_configs: object, **options: object) -> list[CheckMessage]:
    """A warning, for most commands work without; the server itself refuses to start."""
    if static_files_are_missing():
        return [Warning(NOT_COLLECTED, hint=WHAT_TO_DO, id="clinic.W001")]
    return []
