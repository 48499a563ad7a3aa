"""
`python -m tests.chaos --seed 1 --steps 2000`, on the database of DATABASE_URL.

Without DATABASE_URL it makes a SQLite file of its own. The database must be empty.
"""

import argparse
import os
import sys
import tempfile
from pathlib import Path

LAST_LINES = 60


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.chaos")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--steps", type=int, default=2000)
    parser.add_argument("--spoil", default="", help="break this on purpose (tests/chaos/spoil.py)")
    parser.add_argument("--hands-only", action="store_true", help="nothing breaks by chance")
    asked = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory(prefix="clinic-chaos-data-") as folder:
        prepare(Path(folder))
        from tests.chaos.run import run
        from tests.chaos.spoil import SPOILS
        from tests.chaos.steps import HANDS, WEIGHTS

        weights = HANDS if asked.hands_only else WEIGHTS
        report = run(asked.seed, asked.steps, weights=weights, spoil=SPOILS[asked.spoil])
    if report.problems:
        print(*report.log[-LAST_LINES:], sep="\n")
        print(f"{len(report.problems)} differences:", *report.problems[:40], sep="\n  ")
        print(f"Run again: make chaos SEED={asked.seed} STEPS={asked.steps}")
    print(report.summary)
    return 1 if report.problems else 0


def prepare(folder: Path) -> None:
    """Django's settings as they are served, with everything that is written in `folder`."""
    kept = {name: text for name, text in os.environ.items() if not name.startswith("CLINIC_")}
    os.environ.clear()
    os.environ.update(kept)
    os.environ.setdefault("DATABASE_URL", f"sqlite:///{folder}/chaos.sqlite3")
    os.environ |= {
        "CLINIC_VAR": str(folder),
        "CLINIC_SECRET_KEY": "for a chaos run only",
        "DJANGO_SETTINGS_MODULE": "clinic.settings",
        # Playwright keeps an event loop in this thread, where Django would refuse every query.
        "DJANGO_ALLOW_ASYNC_UNSAFE": "yes",
    }
    import django

    django.setup()
    from django.core.management import call_command

    call_command("collectstatic", interactive=False, verbosity=0)
    call_command("migrate", verbosity=0)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
