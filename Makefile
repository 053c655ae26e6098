# Jawright. `make` alone prints the targets.
VENV := .venv
PY := $(VENV)/bin/python
STAMP := $(VENV)/.ready
OUT ?= out

.PHONY: help setup demo test test-long lint types bench lock clean

help:
	@echo "run:    make demo       plan the built-in demo job into $(OUT)/demo"
	@echo "check:  make test       all tests, lint and types"
	@echo "        make test-long  slower checks"
	@echo "        make lint types ruff, mypy"
	@echo "        make bench      where the time goes, as ratios in the same run"
	@echo "care:   make lock       write requirements.lock again"
	@echo "        make clean      remove what was built"

setup: $(STAMP)

$(STAMP): requirements.lock pyproject.toml
	python3 -m venv $(VENV)
	$(PY) -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements.lock
	$(PY) -m pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation -e .
	@touch $@

demo: $(STAMP)
	$(PY) -m jawright demo --out $(OUT)/demo

lint: $(STAMP)
	$(VENV)/bin/ruff check src tests benchmarks examples
	$(VENV)/bin/ruff format --check src tests benchmarks examples

types: $(STAMP)
	$(VENV)/bin/mypy

test: $(STAMP) lint types
	$(PY) -m pytest -n 2 -m "not long"

test-long: $(STAMP)
	$(PY) -m pytest -m long

bench: $(STAMP)
	$(PY) benchmarks/run.py

lock: $(STAMP)
	$(PY) -m pip install --quiet uv
	$(VENV)/bin/uv pip compile --quiet --universal --generate-hashes --group dev pyproject.toml -o requirements.lock

clean:
	rm -rf $(VENV) $(OUT) build dist .mypy_cache .ruff_cache .pytest_cache .hypothesis
