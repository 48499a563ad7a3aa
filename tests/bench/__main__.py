"""
The large timings: `make bench`, or some: `python -m tests.bench [--on DATABASE] [PART ...]`.

BENCH_SCALE=small runs the same steps over few rows, to see that they work. Timings never fail the
run: the table says which goals are met. Method and last results: tests/bench/README.md.
"""

import argparse
import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime

import psycopg

from tests.bench.results import Result
from tests.postgres import throwaway_server

PARTS = (
    "trace",
    "recalls",
    "patients",
    "reviews",
    "diary",
    "amounts",
    "pdf",
    "letters",
    "imports",
    "points",
    "frame",
    "allocation",
    "load",
)
# A document, a frame and an allocation take no time in the database to speak of; the load is that
# of a clinic with many desks, and such a one runs PostgreSQL.
ALONE_ON = {"pdf": "SQLite", "frame": "SQLite", "allocation": "SQLite", "load": "PostgreSQL"}
# The hour at which a day begins to be measured, whatever the time of the run.
MORNING = 10
# A modest server's settings, for tables that are larger than the ones of the tests.
SERVER = {"shared_buffers": "1GB", "max_wal_size": "8GB", "autovacuum": "off"}


# What people wait for while they work is measured as a clinic keeps its data.
IN_USE = {"fsync": "on", "synchronous_commit": "on", "full_page_writes": "on", "autovacuum": "on"}


@contextmanager
def sqlite_url(**_options: str) -> Iterator[str]:
    """
    The DATABASE_URL of a file that goes with the block.

    BENCH_MIGRATED names a file with the tables in it, to begin with copies of it.
    """
    with tempfile.TemporaryDirectory(prefix="clinic-bench-") as folder:
        if migrated := os.environ.get("BENCH_MIGRATED"):
            for name in ("bench.sqlite3", "bench.sqlite3_small"):
                shutil.copy(migrated, f"{folder}/{name}")
        yield f"sqlite:///{folder}/bench.sqlite3"


@contextmanager
def postgres_url(**options: str) -> Iterator[str]:
    """The DATABASE_URL of a server that goes with the block, with room for a second database."""
    with throwaway_server(**SERVER | options) as url:
        with psycopg.connect(url, autocommit=True) as connection:
            connection.execute("CREATE DATABASE clinic_small")
        yield url


DATABASES = {"SQLite": sqlite_url, "PostgreSQL": postgres_url}


def run_part(part: str, url: str) -> list[Result]:
    """Build and measure one part; raises CalledProcessError when its code fails."""
    env = {name: text for name, text in os.environ.items() if not name.startswith("PG")}
    env["DATABASE_URL"] = url
    if part == "load":
        env["BENCH_TIME_ZONE"] = where_it_is_morning(datetime.now(UTC))
    command = [sys.executable, "-m", "tests.bench.part", part]
    subprocess.run([*command, "build"], env=env, check=True)
    done = subprocess.run(
        [*command, "measure"], env=env, check=True, stdout=subprocess.PIPE, text=True
    )
    return [Result(**json.loads(line)) for line in done.stdout.splitlines()]


def table_row(database: str, result: Result) -> str:
    """One line of the table, in Markdown."""
    figures = [result.lowest, result.median, result.p95, result.highest]
    shown = " | ".join(f"{figure:.2f}" for figure in figures)
    goal, met = "", ""
    if result.goal is not None:
        goal = f"{result.judged} ≤ {result.goal:g} {result.unit}"
        met = "met" if result.is_met else "**not met**"
    return (
        f"| {result.what} | {database} | {result.unit} | {shown} | {goal} | {met} | {result.note} |"
    )


HEAD = """\
| what | database | in | least | median | p95 | most | goal | | times |
|---|---|---|---|---|---|---|---|---|---|"""


def main(arguments: list[str]) -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.bench")
    parser.add_argument("parts", nargs="*", metavar="PART", help=f"of {', '.join(PARTS)}")
    parser.add_argument("--on", choices=DATABASES, help="one database instead of both")
    asked = parser.parse_args(arguments)
    if unknown := set(asked.parts) - set(PARTS):
        parser.error(f"no such part: {', '.join(sorted(unknown))}; there are {', '.join(PARTS)}")
    rows = []
    for part in asked.parts or PARTS:
        for database, started in DATABASES.items():
            if asked.on not in (None, database) or skipped(part, database):
                continue
            print(f"{part} on {database}", file=sys.stderr, flush=True)
            with started(**IN_USE if part == "load" else {}) as url:
                found = [table_row(database, result) for result in run_part(part, url)]
            print(*found, sep="\n", file=sys.stderr, flush=True)
            rows += found
    print(HEAD, *rows, sep="\n")


def skipped(part: str, database: str) -> bool:
    return ALONE_ON.get(part, database) != database


def where_it_is_morning(now: datetime) -> str:
    """A time zone by whose clocks it is ten to eleven at `now` (in UTC)."""
    ahead = (MORNING - now.hour + 11) % 24 - 11
    # The names count the other way round.
    return f"Etc/GMT{-ahead:+d}"


if __name__ == "__main__":
    main(sys.argv[1:])
