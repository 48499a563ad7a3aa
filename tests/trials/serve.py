"""
`python -m tests.trials.serve`: the whole of `make serve` on a PostgreSQL server of its own.

People of the invented clinic go through its pages; the database is taken away and given back; the
worker is killed; in the end every line of the log is looked at.
"""

import json
import os
import re
import signal
import sys
import tempfile
from pathlib import Path

from prometheus_client.parser import text_string_to_metric_families

from tests.postgres import server_at_will
from tests.trials.served import ROOT, Asker, Served, Trial, served, wait_for

PASSWORD = "larkstone-demo-2026"
PEOPLE = ("desk", "injector", "owner")
PAGES_EACH = 60
# What scripts/serve and its shell say, who are no part of the tool.
OF_THE_SCRIPT = re.compile(
    r"System check|The worker ended|\S+web_and_worker: line \d+: +\d+ Killed"
)
LINK = re.compile(r'href="(/[^"#]*)"')


def main() -> int:
    trial = Trial()
    with (
        tempfile.TemporaryDirectory(prefix="clinic-serve-") as name,
        server_at_will() as database,
        served(Path(name), database.url) as server,
    ):
        server.manage("seed_demo")
        trial.see("ready, with a worker, soon after the start",
                  wait_for(lambda: server.ready()["ready"]), server.ready())  # fmt: skip
        walk(trial, server)
        the_machine_alone(trial, server)
        database_away_and_back(trial, server, database)
        worker_killed(trial, server)
        words = patients_words(database.url)
        status = server.stop()
        trial.see("SIGTERM ends it and all below it", status == 143, status)
        logs(trial, server.lines, words)
    print(f"{trial.failed} not as they should be")
    return 1 if trial.failed else 0


def walk(trial: Trial, server: Served) -> None:
    """Each role opens its pages, as links lead there."""
    for person in PEOPLE:
        asker = Asker(server.port)
        trial.see(f"{person} signs in", asker.sign_in(person, PASSWORD).status == 302)
        to_open, opened, faults = ["/", "/search/?q=anna", "/patients/?q=an"], set(), []
        while to_open and len(opened) < PAGES_EACH:
            path = to_open.pop(0)
            if path in opened or path.startswith("/static/"):
                continue
            opened.add(path)
            answer = asker.get(path)
            if answer.status >= 500:
                faults.append((path, answer.status))
            if answer.headers.get_content_type() == "text/html":
                to_open += LINK.findall(answer.text)
        asker.get("/patients/987654321/")
        asker.get("/staff/")
        trial.see(f"{person} opens {len(opened)} pages without a fault", not faults, faults)


def the_machine_alone(trial: Trial, server: Served) -> None:
    for path in ("/ready/", "/metrics/"):
        status = Asker(server.port).get(path).status
        trial.see(f"{path} is not there for who comes through a proxy", status == 404, status)
    text = server.machine().get("/metrics/").text
    counted = sum(
        sample.value
        for family in text_string_to_metric_families(text)
        for sample in family.samples
        if sample.name == "clinic_requests_total" and sample.labels["status"] == "200"
    )
    trial.see("the figures of both processes are added up", counted > 2 * PAGES_EACH, counted)


def database_away_and_back(trial: Trial, server: Served, database) -> None:
    asker = Asker(server.port)
    asker.sign_in("desk", PASSWORD)
    database.stop()
    answer = asker.get("/patients/")
    trial.see("without database: 503", answer.status == 503, answer.status)
    trial.see("without database: the page says what to do",
              "The record cannot be reached at the moment" in answer.text
              and (answer.headers["X-Request-ID"] or "-") in answer.text
              and answer.headers["Retry-After"])  # fmt: skip
    trial.see("without database: no words of the machine",
              not re.search(r"Traceback|psycopg|Error", answer.text))  # fmt: skip
    tablet = asker.get("/patients/", Accept="application/json")
    trial.see("without database: a script is told in JSON",
              tablet.status == 503 and "message" in json.loads(tablet.text))  # fmt: skip
    trial.see("without database: alive", server.machine().get("/health/").status == 200)
    ready = server.machine().get("/ready/")
    trial.see("without database: not ready", ready.status == 503, ready.status)
    figures = server.machine().get("/metrics/").text
    trial.see("without database: figures say so", "clinic_database_up 0.0" in figures)
    database.start()
    back = wait_for(lambda: asker.get("/patients/").status == 200, server.process, seconds=20)
    trial.see("the database is back: pages too, and nobody signs in again", back)
    ticks = wait_for(lambda: server.ready()["ready"], server.process)
    trial.see("the database is back: ready, the worker ticks", ticks, server.ready())


def worker_killed(trial: Trial, server: Served) -> None:
    before = workers_of(server)
    for number in before:
        os.kill(number, signal.SIGKILL)
    came = wait_for(lambda: set(workers_of(server)) - set(before), server.process, seconds=30)
    trial.see("a worker that was killed is replaced", before and came, before)


def workers_of(server: Served) -> list[int]:
    """`manage.py work` among the processes that this run started (Linux)."""
    found = []
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            line = (folder / "cmdline").read_bytes().split(b"\0")
            status = (folder / "stat").read_text().rpartition(")")[2].split()
        except OSError:
            continue
        if b"work" in line and int(status[2]) == server.process.pid:
            found.append(int(folder.name))
    return found


def patients_words(database_url: str) -> set[str]:
    """What must not stand in a log: names, telephones, e-mail addresses, record numbers."""
    import dj_database_url
    import psycopg

    at = dj_database_url.parse(database_url)
    address = {"host": at["HOST"], "port": at["PORT"], "user": at["USER"], "dbname": at["NAME"]}
    columns = "full_name, email, phone, record_number"
    with psycopg.connect(**address) as connection:
        rows = connection.execute(f"SELECT {columns} FROM records_patient").fetchall()  # noqa: S608
    words = {text for row in rows for text in row if text}
    return words | {part for row in rows for part in row[0].split() if len(part) > 3}


def logs(trial: Trial, lines: list[str], words: set[str]) -> None:
    requests, others = 0, []
    for line in lines:
        try:
            said = json.loads(line)
        except ValueError:
            others.append(line)
            continue
        requests += said["logger"] == "clinic.requests"
    told = [(word, line) for line in lines for word in words
            if re.search(rf"(?<!\w){re.escape(word)}(?!\w)", line, re.IGNORECASE)]  # fmt: skip
    addresses = [line for line in lines if re.search(r"/(patients|sessions|staff)/", line)
                 and str(ROOT) not in line]  # fmt: skip
    trial.see(f"{len(lines)} lines, {requests} of them requests, {len(words)} words looked for",
              requests > 2 * PAGES_EACH and len(words) > 100)  # fmt: skip
    trial.see("no line holds a word of a patient", not told, told[:3])
    trial.see("no line holds an address", not addresses, addresses[:3])
    others = [line for line in others if line and not OF_THE_SCRIPT.match(line)]
    trial.see("every line is JSON", not others, others[:5])


if __name__ == "__main__":
    sys.exit(main())
