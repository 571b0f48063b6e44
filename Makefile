# make demo   - set up, then plan the demo job into out/
# make office - set up, then the site with the demo job in it, on this machine alone
# make test   - set up what the tests need, then every check
# Needs Python 3.11 or later, make and git. Nothing is installed outside .venv, but for a browser and a
# database server that the tests need: tests/setup-debian.sh says which, and installs them where it may.

PYTHON ?= python3.11
VENV   := .venv
BIN    := $(VENV)/bin
UV     := $(BIN)/uv pip install --quiet --python $(BIN)/python --require-hashes --compile-bytecode
COMPILE := $(BIN)/uv pip compile --quiet --generate-hashes --no-header --no-annotate --no-emit-index-url --no-emit-find-links --universal --python-version 3.11 -c constraints-setup.txt pyproject.toml
RUN    := $(VENV)/.ready-run
OFFICE := $(VENV)/.ready-office
TEST   := $(VENV)/.ready-test
TOTAL  := 5
# Compiled modules start faster; some machines switch them off for every program.
export PYTHONDONTWRITEBYTECODE :=

.PHONY: demo office test debian fast lint bench pictures docs lock clean help

demo: $(RUN) ## plan the demo job into out/
	@echo "planning examples/side-walk into out/"
	@$(BIN)/slabwright plan examples/side-walk/job.yaml --out out

office: $(OFFICE) ## the site at 127.0.0.1:8000, with the demo jobs in it
	@$(BIN)/slabwright office $(foreach job,$(wildcard examples/*/job.yaml),--load $(job))

test: $(TEST) debian ## every check that must hold
	@echo "[1/$(TOTAL)] ruff: lint"            && $(BIN)/ruff check --quiet .
	@echo "[2/$(TOTAL)] ruff: format"          && $(BIN)/ruff format --quiet --check .
	@echo "[3/$(TOTAL)] mypy: strict types"    && $(BIN)/mypy --no-error-summary
	@echo "[4/$(TOTAL)] import-linter: one way through" && $(BIN)/lint-imports --no-cache > $(VENV)/lint-imports.log 2>&1 || { cat $(VENV)/lint-imports.log; exit 1; }
	@echo "[5/$(TOTAL)] pytest, both cores"    && $(BIN)/python -m pytest --numprocesses 2 --dist worksteal

debian: ## Chromium and PostgreSQL for the tests, where they are missing and may be installed
	@bash tests/setup-debian.sh

fast: $(TEST) ## the tests that last failed first, stopping at the first failure
	@$(BIN)/python -m pytest --failed-first --exitfirst --numprocesses 2

bench: $(TEST) ## every ratio beside its peer or bound, written to docs/bench.md
	@$(BIN)/python -m bench

pictures: $(TEST) debian ## the docs' pictures, made by the program: sheets of the demo job, the office in a browser
	@$(BIN)/python docs/pictures.py

docs: $(RUN) ## the generated parts of the docs anew
	@$(BIN)/python docs/make.py

lock: $(VENV)/.ready-uv ## pin names, versions and hashes anew (no registry address is written)
	@$(COMPILE) -o constraints.txt
	@$(COMPILE) --extra office -c constraints.txt -o constraints-office.txt
	@$(COMPILE) --extra office --extra fast --group test -c constraints-office.txt -o constraints-test.txt

$(VENV)/.ready-uv: constraints-setup.txt
	@echo "set-up: a virtual environment in $(VENV)"
	@$(PYTHON) -m venv $(VENV)
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r constraints-setup.txt
	@touch $@

$(RUN): $(VENV)/.ready-uv constraints.txt pyproject.toml
	@echo "set-up: what slabwright runs on (about 250 MB)"
	@$(UV) -r constraints.txt
	@$(BIN)/uv pip install --quiet --python $(BIN)/python --no-deps --no-build-isolation --editable .
	@$(BIN)/python -m compileall -q src || true
	@touch $@

$(OFFICE): $(RUN) constraints-office.txt
	@echo "set-up: what the office runs on"
	@$(UV) -r constraints-office.txt
	@touch $@

$(TEST): $(RUN) constraints-test.txt
	@echo "set-up: what the tests need"
	@$(UV) -r constraints-test.txt
	@touch $@

clean: ## remove what was made, but not the environment
	@rm -rf out .mypy_cache .ruff_cache .pytest_cache

help:
	@grep -hE '^[a-z]+:.*##' $(MAKEFILE_LIST) | sed 's/:.*## /\t/'
