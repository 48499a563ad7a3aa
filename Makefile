# One command each; `make` alone lists them. A setting is given as `make demo PORT=8080`.
SHELL := /bin/bash
.DEFAULT_GOAL := help
.DELETE_ON_ERROR:

PYTHON ?= python3
PORT ?= 8000
export PYTHON PORT

VENV := .venv
BIN := $(VENV)/bin
PIP := $(BIN)/python -m pip --disable-pip-version-check -qq --no-input

# Browser tests run once, on SQLite; the clinic's day runs on both databases. What never asks a
# database runs once as well.
PYTEST := $(BIN)/python -m pytest
ON_SQLITE = echo "Tests on SQLite"; env -u DATABASE_URL $(PYTEST) -m "not bench and not browser" $(ARGS)
NO_DATABASE = tests/planning tests/architecture tests/scripts tests/bench/test_results.py
ON_POSTGRESQL = echo "Tests on PostgreSQL"; $(BIN)/python -m tests.postgres $(PYTEST) \
	-m "not bench and (not browser or main_path)" $(NO_DATABASE:%=--ignore=%) $(ARGS)
IN_BROWSER = echo "Tests in the browser"; env -u DATABASE_URL $(PYTEST) -m "browser and not bench" $(ARGS)

.PHONY: help setup demo demo-reset test test-databases test-sqlite test-postgresql test-browser chaos ledger lint check format bench tour lock

help:
	@echo "make demo        the invented clinic, served on http://127.0.0.1:$(PORT)"
	@echo "make demo-reset  the same, from an empty database"
	@echo "make test        all tests, on SQLite and on a PostgreSQL server of their own"
	@echo "make chaos       random faults on a tablet, its line and the server: SEED=1 STEPS=2000 ON=postgresql"
	@echo "make ledger      random acts of several people on the stock at once: STEPS=200 RUNS=10 ON=postgresql"
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

# --- tests and checks -------------------------------------------------------------------------

# Two lanes side by side, one a core: the browser, and both databases one after the other. Each
# prints when it is done; all run, so that one call shows what fails where.
test: setup
	@scripts/system-packages test
	@$(MAKE) --no-print-directory --jobs=2 --keep-going --output-sync=target test-browser test-databases

test-databases: setup
	@status=0; $(ON_SQLITE) || status=1; $(ON_POSTGRESQL) || status=1; exit $$status

test-sqlite: setup
	@$(ON_SQLITE)

test-postgresql: setup
	@$(ON_POSTGRESQL)

test-browser: setup
	@$(IN_BROWSER)

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
