# Two commands: `make demo` and `make test`. Everything they need is set up on the way, in .venv and nowhere else.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
PIP := $(BIN)/python -m pip --disable-pip-version-check -q
WORKERS ?= 2

.PHONY: demo test quick soak lint bench open docs manual pictures clean system wheel

$(VENV)/.run: pyproject.toml constraints.txt
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11) and "Bankwright needs Python 3.11 or newer; set PYTHON=...")'
	@test -x $(BIN)/python || $(PYTHON) -m venv $(VENV)
	@echo "Setting up Python packages in $(VENV) ..."
	@$(PIP) install -c constraints.txt -e .
	@touch $@

$(VENV)/.dev: $(VENV)/.run
	@$(PIP) install -c constraints.txt -e '.[dev]'
	@touch $@

system:
	@sh tools/system-packages.sh

# Plans the demo bank: findings on screen; drawings, parts list and sheet under out/.
demo: $(VENV)/.run
	@$(BIN)/python demo/run.py out

# Everything: lint, types, floors, tests with and without browser.
test: system $(VENV)/.dev lint
	$(BIN)/python -m pytest -n $(WORKERS) --dist loadgroup

# The page of the demo bank, on a copy under out/; stop with Ctrl-C.
open: $(VENV)/.run
	@mkdir -p out && test -e out/barn.toml || cp demo/barn.toml demo/barn-map.toml out/
	@$(BIN)/bankwright open out/barn.toml

# Long tests, fixed seeds: each once a commit, so that an interrupted round goes on; results in docs/soak.md.
soak: system $(VENV)/.dev
	$(BIN)/python tools/soak.py

# Before each commit: floors, sizes and codes, the fixture table of checks, a few tests a room, names and types;
# under 45 s on two quiet cores. It fails when its tests outgrow their budget (tests/support/quick.py).
quick: $(VENV)/.dev
	$(BIN)/ruff check .
	$(BIN)/python -m pytest -n $(WORKERS) --dist loadgroup -q -m quick
	$(BIN)/mypy

lint: $(VENV)/.dev
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy

# Side by side with general-purpose references, as ratios in one run; prints, asserts nothing.
bench: system $(VENV)/.dev
	@for script in bench/bench_*.py; do echo; echo "== $$script"; $(BIN)/python $$script || exit 1; done

# Writes the pages under docs/ that are made from the code.
pictures: $(VENV)/.dev
	@$(BIN)/python tools/make_pictures.py

docs: $(VENV)/.dev
	@$(BIN)/python tools/make_docs.py
	@$(BIN)/python tools/make_schemas.py

# The manual as HTML under out/manual, where `bankwright manual` and the page's Help find it.
manual: $(VENV)/.dev
	@$(BIN)/python tools/hatch_manual.py out/manual
	@echo out/manual/index.html

# A wheel that carries the manual, and a source distribution, under dist/.
wheel: $(VENV)/.dev
	$(BIN)/python -m hatchling build -d dist

clean:
	rm -rf $(VENV) out dist .mypy_cache .ruff_cache .pytest_cache
