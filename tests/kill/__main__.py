"""
`python -m tests.kill --seed 1 --kills 200`, on the database of DATABASE_URL.

Without DATABASE_URL it makes a SQLite file of its own. The database must be empty.
"""

import argparse
import os
import sys
import tempfile
from pathlib import Path


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.kill")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--visits", type=int, default=200, help="of each of two patients")
    parser.add_argument("--spoil", default="", help="break this on purpose: forget")
    asked = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory(prefix="clinic-kill-") as folder:
        prepare(Path(folder))
        from django.conf import settings

        from tests.kill.run import run

        asked_for = {name: getattr(asked, name) for name in ("seed", "kills", "visits", "spoil")}
        report = run(Path(folder), settings, **asked_for)
    for problem in report.problems[:40]:
        print(" ", problem)
    print(report.summary)
    return 1 if report.problems else 0


def prepare(folder: Path) -> None:
    """Django's settings as they are served, with everything that is written in `folder`."""
    kept = {name: text for name, text in os.environ.items() if not name.startswith("CLINIC_")}
    os.environ.clear()
    os.environ.update(kept)
    os.environ.setdefault("DATABASE_URL", f"sqlite:///{folder}/kill.sqlite3")
    os.environ |= {
        "CLINIC_VAR": str(folder),
        "CLINIC_SECRET_KEY": "for a kill run only",
        "DJANGO_SETTINGS_MODULE": "clinic.settings",
    }
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
