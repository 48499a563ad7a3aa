"""Whether this server can do its work, each part asked anew."""

import shutil
import tempfile
from collections.abc import Callable
from dataclasses import asdict, dataclass
from functools import cache
from pathlib import Path

from django.conf import settings
from django.db import Error, connection
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder

from clinic.background.queries import worker_silence
from clinic.database import triggers
from clinic.pictures.storage import private_pictures

# A day of photographs at a busy clinic, with room to act. Our own choice, no source.
LEAST_FREE_BYTES = 2**30


@dataclass(frozen=True, slots=True)
class Part:
    """One thing that is asked. `tells` says what is to be done; "" when all is well."""

    name: str
    tells: str = ""

    @property
    def is_well(self) -> bool:
        return not self.tells

    def as_dict(self) -> dict[str, object]:
        return {**asdict(self), "is_well": self.is_well}


def readiness() -> list[Part]:
    """Every part; what needs the database is not asked while that does not answer."""
    database = _ask("database", _database, "The database does not answer.")
    parts = [database]
    for name, ask in (("migrations", _migrations), ("rules", _rules), ("worker", _worker)):
        if database.is_well:
            parts.append(_ask(name, ask, "The database does not answer."))
        else:
            parts.append(Part(name, "Not asked: the database does not answer."))
    parts.append(_ask("storage", _storage, "Nothing can be written where photographs lie."))
    parts.append(_ask("disk", _disk, "The disk cannot be asked."))
    return parts


def _ask(name: str, ask: Callable[[], str], otherwise: str) -> Part:
    try:
        return Part(name, ask())
    except (Error, OSError):
        return Part(name, otherwise)


def _database() -> str:
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
    return ""


@cache
def _on_disk() -> frozenset[tuple[str, str]]:
    """The migrations of this code; read once, as code does not change while it runs."""
    return frozenset(MigrationLoader(None).disk_migrations)


def _migrations() -> str:
    missing = _on_disk() - MigrationRecorder(connection).applied_migrations().keys()
    if not missing:
        return ""
    return f"{len(missing)} migrations are not applied. Run manage.py migrate."


def _rules() -> str:
    expected = triggers.expected_names(connection.vendor)
    missing = expected - triggers.installed_names(connection)
    if not missing:
        return ""
    return f"{len(missing)} rules of the database are missing. Run manage.py migrate."


def _worker() -> str:
    silence = worker_silence()
    return silence.text if silence else ""


def _storage() -> str:
    folder = Path(private_pictures().location)
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    with tempfile.TemporaryFile(dir=folder) as file:
        file.write(b"here")
        file.flush()
    return ""


def _disk() -> str:
    free = shutil.disk_usage(settings.VAR_DIR).free
    if free >= LEAST_FREE_BYTES:
        return ""
    return f"Only {free // 2**20} MB are free; {LEAST_FREE_BYTES // 2**20} MB are asked for."
