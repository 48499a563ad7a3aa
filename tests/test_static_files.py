"""The static files as they are served: under hashed names, complete, from our own folder."""

import re
from pathlib import Path

import pytest
from django.contrib.staticfiles.storage import staticfiles_storage
from django.core.management import call_command
from django.templatetags.static import static

from clinic import settings as served

ROOT = served.BASE_DIR


@pytest.fixture
def collected(settings, tmp_path) -> Path:
    """The folder that `collectstatic` fills with the storage that serves."""
    settings.STATIC_ROOT = tmp_path / "static"
    settings.STORAGES = served.STORAGES
    call_command("collectstatic", verbosity=0, interactive=False)
    return settings.STATIC_ROOT


def test_every_file_that_a_template_names_is_served(collected):
    named = {
        (path.relative_to(ROOT), name)
        for path in (ROOT / "templates").rglob("*.html")
        for name in re.findall(r"""{%\s*static\s+["']([^"']+)["']""", path.read_text())
    }
    assert named, "no template names a static file; has the tag changed?"
    lost = [
        f"{path}: {name}"
        for path, name in sorted(named)
        if not (collected / staticfiles_storage.stored_name(name)).is_file()
    ]
    assert lost == []


def test_modules_of_ours_import_each_other_by_hashed_names(settings, tmp_path):
    source = tmp_path / "source"
    (source / "js" / "chart").mkdir(parents=True)
    (source / "library").mkdir()
    (source / "js" / "chart" / "view.js").write_text("import { beep } from '../sound.js';\n")
    (source / "js" / "sound.js").write_text("export function beep() {}\n")
    (source / "library" / "old.js").write_text('/** @type {import("../none").Kind} */\n')
    settings.STATICFILES_DIRS = [source]
    settings.STATIC_ROOT = tmp_path / "static"
    settings.STORAGES = served.STORAGES

    call_command("collectstatic", verbosity=0, interactive=False)

    view = settings.STATIC_ROOT / staticfiles_storage.stored_name("js/chart/view.js")
    sound = Path(staticfiles_storage.stored_name("js/sound.js")).name
    assert re.fullmatch(r"sound\.[0-9a-f]{12}\.js", sound)
    assert view.read_text() == f'import {{ beep }} from "../{sound}";\n'


def test_a_page_names_what_was_collected_last(settings, tmp_path):
    settings.STATICFILES_DIRS = [tmp_path / "source"]
    settings.STATIC_ROOT = tmp_path / "static"
    settings.STORAGES = served.STORAGES
    names = []
    for content in ("a", "b"):
        (tmp_path / "source").mkdir(exist_ok=True)
        (tmp_path / "source" / "look.txt").write_text(content)
        call_command("collectstatic", verbosity=0, interactive=False)
        names += [static("look.txt"), static("look.txt")]
    assert names[0] == names[1] != names[2] == names[3]
    assert re.fullmatch(r"/static/look\.[0-9a-f]{12}\.txt", names[0])


def test_reader_of_codes_imports_its_parts_by_hashed_names(collected):
    reader = (collected / staticfiles_storage.stored_name("zxing/reader/index.js")).read_text()
    share = Path(staticfiles_storage.stored_name("zxing/share.js")).name
    assert f'from "../{share}";' in reader
    ours = (collected / staticfiles_storage.stored_name("js/scanning/reader.js")).read_text()
    named = Path(staticfiles_storage.stored_name("zxing/reader/index.js")).name
    assert f'"../../zxing/reader/{named}"' in ours
    field = (collected / staticfiles_storage.stored_name("js/scanning/field.js")).read_text()
    assert re.findall(r'import\("\./(?:camera|reader)\.[0-9a-f]{12}\.js"\)', field)
