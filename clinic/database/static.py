"""Hashed names for static files, `import` lines between JavaScript modules included."""

from typing import Any

from django.conf import settings
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

    # One pass for each level of modules that import one another; a circle never ends.
    max_post_process_passes = 10

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._urls: dict[str, str] = {}

    def url(self, name: str, force: bool = False) -> str:  # type: ignore[override]
        """As Django's, kept: a page names the sprite of icons hundreds of times."""
        if settings.DEBUG or force:
            return super().url(name, force)
        if name not in self._urls:
            self._urls[name] = super().url(name)
        return self._urls[name]

    def save_manifest(self) -> None:
        super().save_manifest()
        self._urls.clear()
