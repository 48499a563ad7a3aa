"""
The tool's own settings, with what tests need different.

Everything the tool is judged by (database options, middleware, policy for scripts and styles) stays
as it is served.
"""

import os

# Before the import: nothing is written into var/, and a set-up of the developer's has no say.
for name in [name for name in os.environ if name.startswith("CLINIC_")]:
    del os.environ[name]
os.environ["CLINIC_SECRET_KEY"] = "for tests only"

from clinic.settings import *  # noqa: E402, F403

# Real hashers are slow on purpose; no test is about their strength.
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]

# Pages name static files as they stand in the repository; tests/test_static_files.py tries the
# hashed names that are served.
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.InMemoryStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
WHITENOISE_AUTOREFRESH = True
WHITENOISE_USE_FINDERS = True
