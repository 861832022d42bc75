# fiddlehead: everything below sets up what it needs, from a fresh clone with Python 3.11+ and make.
#
#   make demo     the main job on the demo project: fit, check, bend, block; says where the pictures are
#   make serve    the workbench as a page in the browser (PROJECT=folder; default greenware-demo)
#   make test     the whole test suite
#   make quick    the tests that take less than about five seconds each
#   make lint     style, types and import rules
#   make docs     the handbook as a site in site/, to be opened from disk
#   make clean    remove the environment and all caches
#
# Another Python:       make demo PYTHON=python3.12
# Another environment:  make test VENV=/tmp/venv

PYTHON ?= python3
VENV ?= .venv
BIN := $(VENV)/bin
PIP := $(BIN)/python -m pip install --quiet --disable-pip-version-check -c constraints.txt

PROJECT ?= greenware-demo

# One worker for each core; a file's tests stay together, because they share what they compiled.
WORKERS ?= --numprocesses auto --maxprocesses 4 --dist loadfile

# Stamps: an environment is reused until pyproject.toml or constraints.txt is newer than they are.
# They also stand for the page's libraries, which the installation fetches and bundles.
INSTALLED_FROM := pyproject.toml constraints.txt hatch_build.py frontend/package-lock.json \
    frontend/bundle.mjs $(wildcard frontend/vendor/*.js)
FOR_USE := $(VENV)/ready-for-use
FOR_TESTS := $(VENV)/ready-for-tests
FOR_DOCS := $(VENV)/ready-for-docs

.PHONY: demo serve test quick docs lint style types imports environment clean

demo: $(FOR_USE)
	$(BIN)/fiddlehead demo

serve: $(FOR_USE)
	$(BIN)/fiddlehead serve $(PROJECT)

test: $(FOR_TESTS)
	$(BIN)/python -m pytest $(WORKERS)

quick: $(FOR_TESTS)
	$(BIN)/python -m pytest $(WORKERS) -m "not slow"

docs: $(FOR_DOCS)
	NO_MKDOCS_2_WARNING=1 $(BIN)/mkdocs build --quiet --strict
	@echo 'Open site/index.html'

lint: style types imports

style: $(FOR_TESTS)
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .

types: $(FOR_TESTS)
	$(BIN)/mypy

imports: $(FOR_TESTS)
	$(BIN)/lint-imports --no-logo

environment: $(FOR_TESTS)

$(FOR_USE): $(INSTALLED_FROM) | $(BIN)/python
	$(PIP) --editable .
	touch $@

$(FOR_TESTS): $(INSTALLED_FROM) | $(BIN)/python
	$(PIP) --editable '.[test,dev,docs]'
	touch $(FOR_USE) $@

$(FOR_DOCS): pyproject.toml constraints.txt | $(BIN)/python
	$(PIP) --editable '.[docs]'
	touch $@

$(BIN)/python:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
	    { echo 'fiddlehead needs Python 3.11 or newer; name one: make PYTHON=python3.12'; exit 1; }
	$(PYTHON) -m venv $(VENV)

clean:
	rm -rf frontend/node_modules src/fiddlehead/web/static/vendor
	rm -rf $(VENV) site greenware-demo .fiddlehead-cache .pytest_cache .ruff_cache .mypy_cache .import_linter_cache .hypothesis
