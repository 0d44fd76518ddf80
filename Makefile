# Overarm. `make demo` and `make test` do all set-up on a machine with Python 3.11 to 3.13 and make.

PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
STAMP := $(VENV)/.from-lock
# pip foretells its own changes, at length, of a package that comes as source alone; nobody can act on that here.
INSTALL := $(BIN)/python -W ignore:DEPRECATION -m pip install --quiet

# The pages of the workbench: npm and its packages, what the build writes, the types of the interface's answers.
NPM := $(BIN)/python hatch_build.py
MODULES := web/node_modules/.package-lock.json
PAGES := src/overarm/app/pages/index.html
TYPES := web/src/lib/api/schema.d.ts
WEB_SOURCES := $(shell find web -name node_modules -prune -o -type f ! -name openapi.json ! -name schema.d.ts -print)
API_SOURCES := docs/make_api.py $(shell find src/overarm/app -name '*.py') $(wildcard docs/reference/*.schema.json)

.DEFAULT_GOAL := help
.PHONY: help screens demo app test engine lint unit cover format web wheel docs site lock bench bench-history clean

help:
	@echo "make demo    run the two example launches and write their launch sheets into out/"
	@echo "make app     build the pages of the workbench and start it; ARGS='--lan' for a phone"
	@echo "make test    every check: lint, then all tests"
	@echo "make lint    style, types and the arrows between the rooms"
	@echo "make engine  compile all loops, which takes one core about a minute the first time"
	@echo "make unit    the tests alone; choose with ARGS, e.g. make unit ARGS='tests/unit -k wing'"
	@echo "make cover   all tests, with the branches that they take: a table in docs/reference/faults.md"
	@echo "make format  put the code into the house style"
	@echo "make web     build the pages of the workbench with Node, that of the system or one from a package"
	@echo "make wheel   pack the tool, with its pages, into dist/"
	@echo "make bench   one table of ratios in one run: peers, scaling, limits; ARGS='--parts peers' or ARGS='--quick'"
	@echo "make bench-history   some costs again, saved and compared with the run before"
	@echo "make screens take the pictures of the workbench that the documents show"
	@echo "make docs    write the pages that come from the code: cards, options, the map, the README's picture"
	@echo "make site    run the verification, write its report, build the documents into build/site"
	@echo "make lock    renew requirements.lock from pyproject.toml"
	@echo "make clean   remove the virtual environment and everything written by tools"

# Runs again only when the lock or the project file has changed.
$(STAMP): requirements.lock requirements.build.lock pyproject.toml
	@$(PYTHON) -c 'import sys; v = sys.version_info[:2]; sys.exit(None if (3, 11) <= v < (3, 14) else "Overarm needs Python 3.11, 3.12 or 3.13; this is %d.%d. Say which with: make PYTHON=/path/to/python3" % v)'
	@test -x $(BIN)/python || $(PYTHON) -m venv $(VENV)
	@echo "Installing the tool, its tests and what they need into $(VENV): 2.2 GB, one to three minutes without a word"
	$(INSTALL) --require-hashes --no-deps --only-binary :all: -r requirements.build.lock
	$(INSTALL) --require-hashes --no-deps --no-build-isolation \
		--only-binary :all: --no-binary aerofiles -r requirements.lock
	$(INSTALL) --no-deps --no-build-isolation --editable .
	@touch $@

demo: $(STAMP)
	$(BIN)/overarm demo

app: $(STAMP) $(PAGES)
	$(BIN)/overarm app $(ARGS)

# The loops are compiled while the other core looks at style: else each process of the tests would do it for itself.
test: $(STAMP)
	@$(MAKE) --no-print-directory --jobs 2 --output-sync=line lint engine
	@$(MAKE) --no-print-directory unit

engine: $(STAMP)
	$(BIN)/python -m tests.compile_all

lint: $(STAMP) $(MODULES) $(TYPES)
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports
	$(NPM) run check

unit: $(STAMP) $(PAGES)
	$(NPM) test
	$(BIN)/python -m pytest -n auto --dist loadfile $(ARGS)

cover: $(STAMP) $(PAGES)
	$(BIN)/python -m pytest -n auto --dist loadfile --cov --cov-report=html \
		--cov-report=json:build/coverage/report.json $(ARGS)
	$(BIN)/python docs/make_coverage.py

format: $(STAMP)
	$(BIN)/ruff check --fix .
	$(BIN)/ruff format .

web: $(PAGES)

wheel: $(STAMP)
	$(BIN)/python -m hatchling build --target wheel

$(MODULES): web/package.json web/package-lock.json | $(STAMP)
	$(NPM) ci
	@touch $@

$(TYPES): $(API_SOURCES) $(MODULES)
	$(BIN)/python docs/make_api.py web/openapi.json
	$(NPM) run types

$(PAGES): $(WEB_SOURCES) $(MODULES)
	$(NPM) run build

bench: $(STAMP)
	$(BIN)/python -m benchmarks.table $(ARGS)

# Without the options of the tests: there the plugin is off, a warning is an error and all cores run tests.
bench-history: $(STAMP)
	$(BIN)/python -m pytest benchmarks/history.py -o addopts= -o filterwarnings= --import-mode=importlib -q \
		--benchmark-autosave --benchmark-compare --benchmark-columns=median,iqr,rounds $(ARGS)

screens: $(STAMP) $(PAGES)
	$(BIN)/python docs/make_screens.py $(ARGS)

docs: $(STAMP)
	$(BIN)/python docs/make_cards.py
	$(BIN)/python docs/make_commands.py
	$(BIN)/python docs/make_formulas.py
	$(BIN)/python docs/make_map.py
	$(BIN)/python -m overarm.sheets.readme_picture examples/b-kestrel.yaml docs/images/launch-b.png

# A warning is an error: a link that leads nowhere, a page that nobody lists.
site: $(STAMP)
	$(BIN)/python docs/make_formulas.py
	$(BIN)/python docs/make_report.py
	$(BIN)/python -m sphinx --quiet --fail-on-warning --keep-going -b html docs build/site
	@echo "open build/site/index.html"

# aerofiles comes as source alone: what builds it has a lock of its own and goes in first.
lock: $(STAMP)
	echo setuptools | $(BIN)/uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --upgrade \
		--no-emit-index-url --no-annotate --custom-compile-command "make lock" - --output-file requirements.build.lock
	$(BIN)/uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --upgrade \
		--no-emit-index-url --no-annotate --custom-compile-command "make lock" \
		--group dev pyproject.toml --output-file requirements.lock

clean:
	rm -rf $(VENV) web/node_modules web/openapi.json $(TYPES) $(dir $(PAGES)) out build dist .mypy_cache .ruff_cache .pytest_cache .hypothesis .import_linter_cache
