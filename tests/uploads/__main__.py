"""
`python -m tests.uploads --seed 1 --files 10000`, on the database of DATABASE_URL.

Without DATABASE_URL it makes a SQLite file of its own. The database must be empty.
"""

import argparse
import sys
import tempfile
from pathlib import Path

from tests.kill.__main__ import prepare


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.uploads")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--files", type=int, default=10_000)
    asked = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory(prefix="clinic-uploads-") as folder:
        prepare(Path(folder))
        from tests.uploads.run import run

        report = run(seed=asked.seed, files=asked.files)
    for problem in report.problems[:40]:
        sys.stdout.write(f"  {problem}\n")
    sys.stdout.write(f"{report.summary}\n")
    return 1 if report.problems else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
