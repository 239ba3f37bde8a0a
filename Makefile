# Two commands do all the set-up: `make demo` and `make test`.
PYTHON ?= python3
VENV   := .venv
BIN    := $(VENV)/bin
export PYTHONDONTWRITEBYTECODE :=

.PHONY: demo test check whole rest lowest fuzz faults cover bench bench-moulds clean

demo: $(VENV)/.installed
	@$(BIN)/samespin solve scenarios/juniper.toml

test: $(VENV)/.installed-dev
	@$(BIN)/ruff format --check .
	@$(BIN)/ruff check .
	@$(BIN)/mypy
	@$(BIN)/lint-imports --no-cache
	@$(BIN)/pytest -q -n auto --dist worksteal --cases quick

check: test

whole: $(VENV)/.installed-dev  # with the slow tests, and all cases: of many `make test` tries some
	@$(BIN)/pytest -q -n auto --dist worksteal

SECONDS := inf
rest: $(VENV)/.installed-dev  # what `make test` left of `make whole`, for so many seconds
	@$(BIN)/pytest -q -n auto --maxschedchunk 1 --cases rest --within $(SECONDS)

LOWEST := .venv-lowest
lowest: $(VENV)/.installed-dev  # some tests with the lowest versions that pyproject.toml declares, on the lowest Python
	@$(BIN)/python -m venv --clear $(LOWEST)
	@$(BIN)/python tests/lowest.py > $(LOWEST)/constraints.txt
	@$(LOWEST)/bin/python -m pip install --quiet --disable-pip-version-check -c $(LOWEST)/constraints.txt \
		-e '.[cad,cluster,sheets,tables]' pytest pytest-xdist hypothesis jsonschema cloudpickle lxml networkx
	@$(LOWEST)/bin/samespin solve scenarios/juniper.toml > /dev/null
	@$(LOWEST)/bin/pytest -q -n auto -p no:cacheprovider -o filterwarnings=ignore --cases quick -k "not nothing_heavy" $$($(BIN)/python tests/lowest.py --tests)

MUTANTS := 20000
fuzz: $(VENV)/.installed-dev  # damaged files of every kind, each read by some command; more: make fuzz MUTANTS=200000
	@PYTHONPATH=.:tests $(BIN)/python -m fuzz --mutants $(MUTANTS) --keep build/fuzz

faults: $(VENV)/.installed-dev  # kills, full disks, lost streams, signals and the like: what is survived, counted
	@PYTHONPATH=.:tests $(BIN)/python -m faults

cover: $(VENV)/.installed-dev  # all tests, half as long again, with what they pass through
	@$(BIN)/pytest -q -n auto --dist worksteal --cov --cov-report=term

bench: $(VENV)/.installed-dev  # one page, in some six minutes; also into a file: make bench PAGE=FILE.md
	@PYTHONPATH=tests $(BIN)/python -m benchmarks $(PAGE:%=-o %)

bench-moulds: $(VENV)/.installed-dev  # beside differential evolution: an hour
	@PYTHONPATH=tests $(BIN)/python -m benchmarks.moulds

$(VENV)/bin/python:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11) and "samespin needs Python 3.11 or later; say which: make PYTHON=python3.12 ...")'
	@$(PYTHON) -m venv $(VENV)

$(VENV)/.installed: pyproject.toml | $(VENV)/bin/python
	@echo "installing samespin into $(VENV) (once; about a minute)"
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check -e .
	@touch $@

$(VENV)/.installed-dev: pyproject.toml | $(VENV)/bin/python
	@echo "installing samespin and its checks into $(VENV) (once; about a minute)"
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check -e '.[dev]'
	@touch $@ $(VENV)/.installed

clean:
	rm -rf $(VENV) $(LOWEST) build *.egg-info .mypy_cache .ruff_cache .pytest_cache .coverage
