# One command each; `make` alone lists them. A setting is given as `make demo PORT=8080`.
SHELL := /bin/bash
.DEFAULT_GOAL := help
.DELETE_ON_ERROR:

PYTHON ?= python3
PORT ?= 8000
export PYTHON PORT
# The parts of `make test`, and the programs they start, read what the first of them compiled.
unexport PYTHONDONTWRITEBYTECODE

VENV := .venv
BIN := $(VENV)/bin
PIP := $(BIN)/python -m pip --disable-pip-version-check -qq --no-input

# Browser tests run once, on SQLite; the clinic's day runs on both databases. What asks no database,
# or only what others ask of both, runs once as well; so do programs that bring their own.
PYTEST := $(BIN)/python -m pytest
ONCE = tests/planning tests/architecture tests/scripts tests/bench/test_results.py tests/test_forms.py \
	tests/records/demo/test_days.py tests/records/demo/test_demo.py \
	tests/records/notes/test_note.py tests/records/notes/test_charts.py tests/uploads
PAGES = tests/browser tests/bench/test_results.py
PROGRAMS = tests/chaos
ON_SQLITE = env -u DATABASE_URL $(PYTEST) -m "not bench and not browser"
ON_POSTGRESQL = $(BIN)/python -m tests.postgres $(PYTEST) $(ONCE:%=--ignore=%) \
	-m "not bench and (not browser or main_path)"
IN_BROWSER = env -u DATABASE_URL $(PYTEST) $(PAGES) -m "browser and not bench"
WITH_PROGRAMS = env -u DATABASE_URL $(PYTEST) $(PROGRAMS) -m "browser and not bench"

.PHONY: help setup demo demo-reset test test-sqlite test-sqlite-records test-sqlite-rest test-postgresql test-browser test-programs chaos ledger kill race uploads fuzz lint check format bench tour lock serve serve-trial proxy-trial audit

help:
	@echo "make demo        the invented clinic, served on http://127.0.0.1:$(PORT)"
	@echo "make demo-reset  the same, from an empty database"
	@echo "make serve       a clinic in production, from settings in ENV_FILE (docs/running.md)"
	@echo "make test        all tests, on SQLite and on a PostgreSQL server of their own"
	@echo "make chaos       random faults on a tablet, its line and the server: SEED=1 STEPS=2000 ON=postgresql"
	@echo "make ledger      random acts of several people on the stock at once: STEPS=200 RUNS=10 ON=postgresql"
	@echo "make race        eight processes that book one time: ROUNDS=1000 ON=postgresql"
	@echo "make kill        a worker that is killed again and again while it sends: KILLS=200 ON=postgresql"
	@echo "make uploads     spoiled files sent as photographs: SEED=1 FILES=10000 ON=postgresql"
	@echo "make fuzz        made-up input for every form and script: SEED=1 INPUTS=100000 ON=postgresql"
	@echo "make serve-trial the whole of make serve, its database taken away and given back"
	@echo "make proxy-trial the proxies of deploy/ in front of it, on this machine"
	@echo "make audit       known weaknesses of the packages in the lock files"
	@echo "make lint        style, types, import directions, migrations, templates"
	@echo "make check       lint and test"
	@echo "make bench       the large timings (minutes)"
	@echo "make tour        the pictures of the README, taken anew"
	@echo "make setup       the virtual environment with everything for developers"
	@echo "make format      put the code into its fixed form"
	@echo "make lock        compile requirements/*.in into the hashed lock files"

# --- set-up -----------------------------------------------------------------------------------
# The two stamps say which lock the environment was filled from; a changed lock fills it again.

setup: $(VENV)/.dev

$(BIN)/python:
	@scripts/system-packages run
	@$(PYTHON) -m venv $(VENV)

$(VENV)/.runtime: requirements/runtime.txt | $(BIN)/python
	@scripts/system-packages run
	@echo "Installing what the tool needs into $(VENV) ..."
	@$(PIP) install --require-hashes --no-deps -r requirements/runtime.txt
	@touch $@

$(VENV)/.dev: requirements/dev.txt $(VENV)/.runtime
	@echo "Installing what tests and checks need into $(VENV) ..."
	@$(PIP) install --require-hashes --no-deps -r requirements/dev.txt
	@touch $@

# --- the demo clinic --------------------------------------------------------------------------

demo: $(VENV)/.runtime
	@scripts/demo start

demo-reset: $(VENV)/.runtime
	@scripts/demo reset

# --- a clinic in production -------------------------------------------------------------------

serve: $(VENV)/.runtime
	@scripts/serve

# On a database and ports of their own, with the invented clinic; what was found is told line by line.
serve-trial: setup
	@scripts/system-packages test
	@$(BIN)/python -m tests.trials.serve

proxy-trial: setup
	@$(BIN)/python -m tests.trials.proxy

audit:
	@scripts/audit

# --- tests and checks -------------------------------------------------------------------------

# Two parts at a time, one a core, the longest first. Each prints when it is done; all run, so that
# one call shows what fails where.
test: setup
	@scripts/system-packages test
	@$(MAKE) --no-print-directory --jobs=2 --keep-going --output-sync=target \
		test-browser test-postgresql test-sqlite-records test-sqlite-rest test-programs

test-browser: setup
	@echo "Tests in the browser"; $(IN_BROWSER) $(ARGS)

test-sqlite: setup
	@echo "Tests on SQLite"; $(ON_SQLITE) $(ARGS)

test-sqlite-records: setup
	@echo "Tests of the records on SQLite"; $(ON_SQLITE) tests/records $(ARGS)

test-sqlite-rest: setup
	@echo "All other tests on SQLite"; $(ON_SQLITE) --ignore=tests/records $(ARGS)

test-postgresql: setup
	@echo "Tests on PostgreSQL"; $(ON_POSTGRESQL) $(ARGS)

# Tablets among faults: each run starts a server and browsers of its own.
test-programs: setup
	@echo "Tests of programs that use a browser"; $(WITH_PROGRAMS) $(ARGS)

# The short run of it is in `make test`; the same seed and steps take the same steps again.
SEED := 1
STEPS := 2000
ON := sqlite
chaos: setup
	@scripts/system-packages test
	@$(if $(filter postgresql,$(ON)),$(BIN)/python -m tests.postgres,env -u DATABASE_URL) \
		$(BIN)/python -m tests.chaos --seed $(SEED) --steps $(STEPS)

# Books that several people work on at once: RUNS clinics, each for up to STEPS moments.
RUNS := 10
ledger: setup
	@scripts/system-packages test
	@$(if $(filter postgresql,$(ON)),$(BIN)/python -m tests.postgres,env -u DATABASE_URL) \
		env LEDGER_RUNS=$(RUNS) LEDGER_STEPS=$(STEPS) $(BIN)/python -m pytest -q tests/ledger

# Eight processes that want the same time of the diary, ROUNDS times.
ROUNDS := 1000
race: setup
	@scripts/system-packages test
	@$(if $(filter postgresql,$(ON)),$(BIN)/python -m tests.postgres,env -u DATABASE_URL) \
		env RACE_ROUNDS=$(ROUNDS) $(BIN)/python -m pytest -q tests/race

# What the clinic believes of its messages is compared with what arrived.
KILLS := 200
kill: setup
	@scripts/system-packages test
	@$(if $(filter postgresql,$(ON)),$(BIN)/python -m tests.postgres,env -u DATABASE_URL) \
		$(BIN)/python -m tests.kill --seed $(SEED) --kills $(KILLS)

# Each file is kept clean or refused in words.
FILES := 10000
uploads: setup
	@$(if $(filter postgresql,$(ON)),$(BIN)/python -m tests.postgres,env -u DATABASE_URL) \
		$(BIN)/python -m tests.uploads --seed $(SEED) --files $(FILES)

# Forms, addresses and JSON; each answer is a page or a sentence, never an error.
INPUTS := 100000
fuzz: setup
	@$(if $(filter postgresql,$(ON)),$(BIN)/python -m tests.postgres,env -u DATABASE_URL) \
		$(BIN)/python -m tests.fuzz --seed $(SEED) --inputs $(INPUTS)

lint: setup
	@scripts/lint

check: lint test

format: setup
	@$(BIN)/ruff check --fix --quiet . || true
	@$(BIN)/ruff format .

bench: setup
	@scripts/system-packages test
	@$(BIN)/python -m tests.bench $(ARGS)

tour: setup
	@scripts/system-packages test
	@env -u DATABASE_URL $(BIN)/python -m pytest -q tests/browser/tour.py

# Needs uv, and a network; installing needs neither uv nor this target.
UV_COMPILE = uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-header
lock:
	@command -v uv >/dev/null || { echo "make lock needs uv: pipx install uv"; exit 1; }
	@cd requirements && $(UV_COMPILE) runtime.in --output-file runtime.txt
	@cd requirements && $(UV_COMPILE) dev.in --output-file dev.txt
	@! grep -nE '://|--(index|find-links|extra)' requirements/*.txt
