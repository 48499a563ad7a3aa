"""Entry point for the application server."""

import os

from django.core.exceptions import ImproperlyConfigured
from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "clinic.settings")

application = get_wsgi_application()

# Imported only now: it asks the storages, which the line above sets up.
from clinic.database.checks import NOT_COLLECTED, WHAT_TO_DO, static_files_are_missing  # noqa: E402

if static_files_are_missing():
    raise ImproperlyConfigured(f"{NOT_COLLECTED} {WHAT_TO_DO}")
