"""Hashed names for static files, `import` lines between JavaScript modules included."""

from django.contrib.staticfiles.storage import ManifestStaticFilesStorage


class ModuleManifestStorage(ManifestStaticFilesStorage):
    """One decision for hashed modules: Django rewrites the import paths, no import map."""

    support_js_module_import_aggregation = True
