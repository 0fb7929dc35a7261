# Coilwright's commands. `make demo` and `make test` set the environment up when needed.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
STAMP := $(VENV)/.installed
OUT ?= demo-out
PORT ?= 0
# Tests that drive a page look for a browser here; without one they say that they did not run.
CHROMIUM ?= $(shell command -v chromium || command -v chromium-browser)
WORKERS ?= auto

.DEFAULT_GOAL := help
.PHONY: help setup demo test check format lock clean accuracy

help:
	@echo "make demo      the demo case from DICOM run to report, then served on loopback"
	@echo "make test      formatter, linter, types, import contracts and every test"
	@echo "make setup     build $(VENV) (needs python3 with venv)"
	@echo "make format    rewrite the code in the house format"
	@echo "make accuracy  measure rendered runs against their known truth"
	@echo "make lock      compile the hashed requirements again"

$(STAMP): requirements/uv.txt requirements/dev.txt pyproject.toml
	$(PYTHON) -c 'import sys; sys.exit(0 if (3, 11) <= sys.version_info[:2] <= (3, 13) else "Coilwright needs Python 3.11 to 3.13; set PYTHON=/path/to/python")'
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements/uv.txt
	UV_COMPILE_BYTECODE=1 $(BIN)/uv pip install --quiet --python $(BIN)/python --require-hashes -r requirements/dev.txt
	$(BIN)/uv pip install --quiet --python $(BIN)/python --no-deps --no-build-isolation -e .
	touch $(STAMP)

setup: $(STAMP)

demo: $(STAMP)
	$(BIN)/coilwright demo --out $(OUT) --port $(PORT)

test: check

check: $(STAMP)
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	$(BIN)/mypy
	$(BIN)/lint-imports
	CHROMIUM="$(CHROMIUM)" $(BIN)/python -m pytest -n $(WORKERS) --dist loadgroup
ifeq ($(strip $(CHROMIUM)),)
	@echo "NOTE: no chromium on this machine: the browser tests did NOT run (set CHROMIUM=/path/to/chromium)."
endif

format: $(STAMP)
	$(BIN)/ruff format .
	$(BIN)/ruff check --fix .

lock: $(STAMP)
	$(BIN)/uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-header requirements/uv.in -o requirements/uv.txt
	$(BIN)/uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-header pyproject.toml requirements/dev.in -o requirements/dev.txt

accuracy: $(STAMP)
	OPENBLAS_NUM_THREADS=1 $(BIN)/python benchmarks/report.py

clean:
	rm -rf $(VENV) $(OUT) .mypy_cache .ruff_cache .pytest_cache .import_linter_cache
