"""Hashed names for static files, `import` lines between JavaScript modules included."""

from django.contrib.staticfiles.storage import ManifestStaticFilesStorage

# Without a public name in Django; tests/test_static_files.py notices when it goes.
_, MODULE_IMPORTS = getattr(ManifestStaticFilesStorage, "_js_module_import_aggregation_patterns")  # noqa: B009


class ModuleManifestStorage(ManifestStaticFilesStorage):
    """
    One decision for hashed modules: Django rewrites the import paths, no import map.

    Only in our own folder, static/js, and in the reader of codes that it imports. Django's switch
    for it reads every script, and takes what a comment in a library's script says about importing
    for an import of a file that is not there.
    """

    patterns = (
        *ManifestStaticFilesStorage.patterns,
        ("js/*.js", MODULE_IMPORTS),
        ("zxing/*.js", MODULE_IMPORTS),
    )
