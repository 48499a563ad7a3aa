"""
`python -m tests.fuzz --seed 1 --inputs 100000`, on the database of DATABASE_URL.

Without DATABASE_URL it makes a SQLite file of its own. The database must be empty.
"""

import argparse
import logging
import sys
import tempfile
from pathlib import Path

from tests.kill.__main__ import prepare


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--inputs", type=int, default=100_000)
    asked = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory(prefix="clinic-fuzz-") as folder:
        prepare(Path(folder))
        # Each refused input would be a line.
        logging.disable(logging.CRITICAL)
        from django.core.management import call_command
        from django.test.utils import setup_test_environment

        setup_test_environment()  # no e-mail leaves
        call_command("collectstatic", interactive=False, verbosity=0)
        from tests.fuzz.run import run

        report = run(seed=asked.seed, inputs=asked.inputs)
    for (place, problem), sent in sorted(report.problems.items()):
        sys.stdout.write(f"  {place}: {problem}\n      {sent}\n")
    sys.stdout.write(f"{report.summary}\n")
    return 1 if report.problems else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
