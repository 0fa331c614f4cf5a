# One word each; `make help` lists them. Needs a Python of 3.11 or newer with pip and venv, nothing else.
# PYTHON=/path/to/python chooses the interpreter, VENV=folder the local environment.

.DEFAULT_GOAL := help
.DELETE_ON_ERROR:
.SUFFIXES:

VENV ?= .venv
BIN := $(VENV)/bin
STAMPS := $(VENV)/stamps
PIP := $(BIN)/python -m pip --disable-pip-version-check --quiet
WORKERS ?= 2
ARGS ?=

# The first of these that is new enough and can make an environment.
CANDIDATES := python3 python3.13 python3.12 python3.14 python3.11 python
CAN_USE := import sys, ensurepip, venv; sys.exit(sys.version_info < (3, 11))
PYTHON ?= $(shell for each in $(CANDIDATES); do \
	if "$$each" -c '$(CAN_USE)' >/dev/null 2>&1; then echo "$$each"; break; fi; done)

.PHONY: help run serve test lint bench docs lock clean

help:  ## This list.
	@sed -n 's/^\([a-z]*\):.*## \(.*\)/  make \1\t\2/p' $(MAKEFILE_LIST) | expand -t 16

run: $(STAMPS)/run.ok  ## Install into .venv and prove a demo machine: table, verdict, picture.
	@$(BIN)/python -m compileall -q src
	$(BIN)/tripmargin prove whimbrel --save protection-whimbrel.svg

serve: $(STAMPS)/run.ok  ## Start the yard's web app on this computer; it prints a link for the first owner.
	$(BIN)/tripmargin serve $(ARGS)

test: $(STAMPS)/test.ok  ## Install what the tests need, then run them all.
	@$(BIN)/python tools/system_tools.py
	@$(BIN)/python tools/test_files.py
	$(BIN)/python -m pytest -n $(WORKERS) --dist worksteal --durations 10 $(ARGS)

lint: $(STAMPS)/test.ok  ## Style, types, and the floors: ruff, mypy, import-linter.
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports

bench: $(STAMPS)/test.ok  ## Speed and memory, as ratios measured in one run.
	@$(BIN)/python -m compileall -q src
	@set -e; for each in benchmarks/*.py; do echo "== $$each"; $(BIN)/python "$$each"; done

docs: $(STAMPS)/test.ok  ## Write the generated pages anew and check every link.
	$(BIN)/python tools/readme_pictures.py
	$(BIN)/python tools/make_docs.py

lock: $(STAMPS)/test.ok  ## Lock the requirements again; UPGRADE=1 moves to the newest versions.
	$(BIN)/python tools/lock.py $(if $(UPGRADE),--upgrade)

clean:  ## Remove the local environment and everything made.
	rm -rf $(VENV) build dist .pytest_cache .mypy_cache .ruff_cache .hypothesis .import_linter_cache
	rm -f protection-*.svg
	find src tests tools -name __pycache__ -type d -exec rm -rf {} +

# The environment and its stamps. A current stamp means no network and no waiting.

$(STAMPS)/venv.ok:
	@if ! $(BIN)/python -c 'import pip' 2>/dev/null; then \
	  if [ -z "$(PYTHON)" ]; then \
	    echo "No Python of 3.11 or newer with venv and pip was found (tried: $(CANDIDATES))." >&2; \
	    echo "Install one (Debian: apt-get install python3-venv) or say which: make run PYTHON=/path/to/python" >&2; \
	    exit 1; \
	  fi; \
	  echo "Making $(VENV) with $(PYTHON) ($$($(PYTHON) --version))"; \
	  "$(PYTHON)" -m venv $(VENV); \
	fi
	@mkdir -p $(STAMPS) && touch $@

# Hashes are checked. The package itself is linked, not copied, so that an edit is never stale, and its
# bytecode is compiled at once (by `make run` and `make bench`), so that the link costs no start-up time.
LINK := $(PIP) install --no-deps --no-build-isolation --editable .

$(STAMPS)/run.ok: requirements/run.txt pyproject.toml | $(STAMPS)/venv.ok
	@echo "Installing what tripmargin needs into $(VENV)"
	@$(PIP) install --require-hashes --requirement requirements/run.txt
	@$(LINK)
	@touch $@

$(STAMPS)/test.ok: requirements/test.txt $(STAMPS)/run.ok | $(STAMPS)/venv.ok
	@echo "Installing what the tests need into $(VENV)"
	@$(PIP) install --require-hashes --requirement requirements/test.txt
	@touch $@
