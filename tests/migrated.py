"""
A SQLite file with every table and no row, made once for all runs that start from the same tables.

Migrating takes as long as many tests together, and `make test` is five runs. PostgreSQL, the chaos
run and the benches that are started by hand migrate for themselves.
"""

import hashlib
import os
import subprocess
import sys
import tempfile
from pathlib import Path

from django.conf import settings

# What the tables, triggers and first rows are made of.
MADE_OF = (
    "*/migrations/*.py",
    "clinic/database/**/*.py",
    "*/**/triggers.py",
    "requirements/runtime.txt",
)


def migrated_in(folder: Path) -> Path:
    """The file in `folder`, which holds one for each state of the tables; made where it lacks."""
    file = folder / f"{_state()}.sqlite3"
    if not file.exists():
        # Made aside and put there whole: another run may be looking for it just now.
        with tempfile.TemporaryDirectory(dir=folder) as aside:
            _migrate(made := Path(aside) / file.name)
            for old in folder.glob("*.sqlite3"):
                old.unlink(missing_ok=True)
            made.replace(file)
    return file


def _state() -> str:
    """Changes with each file that tables are made of."""
    root = settings.BASE_DIR
    files = sorted({file for pattern in MADE_OF for file in root.glob(pattern)})
    digest = hashlib.sha256()
    for file in files:
        digest.update(f"{file.relative_to(root)}\0".encode() + file.read_bytes())
    return digest.hexdigest()[:16]


def _migrate(file: Path) -> None:
    names = {"DJANGO_SETTINGS_MODULE": "tests.settings", "DATABASE_URL": f"sqlite:///{file}"}
    subprocess.run(
        [sys.executable, "manage.py", "migrate", "--verbosity=0"],
        cwd=settings.BASE_DIR, env=os.environ | names, check=True,
    )  # fmt: skip
