# Two commands: `make demo` and `make test`. Everything they need is set up on the way, in .venv and nowhere else.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
PIP := $(BIN)/python -m pip --disable-pip-version-check -q
WORKERS ?= 2

.PHONY: demo test quick lint bench open docs pictures clean system

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
	@mkdir -p out && test -e out/barn.toml || cp demo/barn.toml out/barn.toml
	@$(BIN)/bankwright open out/barn.toml

# Without the slow ones and without a browser: under a minute.
quick: $(VENV)/.dev
	$(BIN)/python -m pytest -n $(WORKERS) --dist loadgroup -m "not slow and not browser"

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

clean:
	rm -rf $(VENV) out dist .mypy_cache .ruff_cache .pytest_cache
