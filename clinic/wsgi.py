"""Entry point for the application server."""

import gc
import os
import sys

from django.core.exceptions import ImproperlyConfigured
from django.core.wsgi import get_wsgi_application
from django.urls import get_resolver

from clinic.stack import in_one_piece

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "clinic.settings")

application = in_one_piece(get_wsgi_application())

# Imported only now: it asks the storages, which the line above sets up.
from clinic.database.checks import NOT_COLLECTED, WHAT_TO_DO, static_files_are_missing  # noqa: E402

if static_files_are_missing():
    raise ImproperlyConfigured(f"{NOT_COLLECTED} {WHAT_TO_DO}")

# Addresses, and with them all pages, are otherwise read at the first request.
get_resolver().url_patterns  # noqa: B018

# What is loaded by now stays. Otherwise the search for garbage goes through all of Django every few
# hundred requests, and through a long list again and again while it is being made: a page then took
# a tenth of a second longer.
gc.collect()
gc.freeze()
gc.set_threshold(20_000)

# A thread that waits for the database takes its turn anew at every answer. By default whoever
# computes keeps it for five milliseconds: twenty statements beside one long page are a tenth of a
# second.
sys.setswitchinterval(0.0005)
