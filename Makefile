# Two commands do all the set-up: `make demo` and `make test`.
PYTHON ?= python3
VENV   := .venv
BIN    := $(VENV)/bin
LOCK   := .ci/lock.txt
PIP    := python -m pip install --quiet --disable-pip-version-check
export PYTHONDONTWRITEBYTECODE :=

# Installed are the files that the lock names by their hashes, and no others; or what the ranges
# in pyproject.toml allow today: `make test LOCK=`.
LOCKED   = $(if $(LOCK),--no-deps --require-hashes -r $(LOCK),-e '.[dev]')
EDITABLE = --no-deps --no-build-isolation -e .

.PHONY: demo test check whole rest lowest newest lock dist fuzz faults truth cover bench bench-moulds clean

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

RING = -q -n auto --maxschedchunk 1 -p no:cacheprovider --cases ring --within $(SECONDS)

OTHER = $(BIN)/python tests/versions.py
lowest: $(VENV)/.installed-dev  # all tests with the lowest versions that pyproject.toml declares, on the lowest Python
	@$$($(OTHER) python 11) -m venv --clear .venv-$@
	@$(OTHER) lowest > .venv-$@/constraints.txt
	@.venv-$@/bin/$(PIP) -c .venv-$@/constraints.txt -e '.[dev]'
	@.venv-$@/bin/pytest $(RING) -o filterwarnings=ignore

newest: $(VENV)/.installed-dev  # all tests with the lock's versions, on the newest Python here or TRY=PROGRAM
	@$(or $(TRY),$$($(OTHER) newest)) -m venv --clear .venv-$@
	@.venv-$@/bin/$(PIP) $(LOCKED)
	@.venv-$@/bin/$(PIP) $(EDITABLE)
	@.venv-$@/bin/pytest $(RING)

lock:  # the newest versions that pyproject.toml allows, with the hashes of their files, and their licences
	@$(PYTHON) -m venv --clear build/lock
	@build/lock/bin/$(PIP) uv
	@build/lock/bin/uv pip compile pyproject.toml --all-extras --universal --python-version 3.11 --upgrade \
		--generate-hashes --no-header --no-annotate --quiet -o $(LOCK)
	@$(MAKE) $(VENV)/.installed-dev
	@$(BIN)/python tests/licences.py

dist: $(VENV)/.installed-dev  # a wheel and an sdist, each installed in an empty environment and tried
	@rm -rf dist
	@$(BIN)/python -m build --no-isolation > /dev/null
	@$(BIN)/python tests/installed.py dist/*

MUTANTS := 20000
fuzz: $(VENV)/.installed-dev  # damaged files of every kind, each read by some command; more: make fuzz MUTANTS=200000
	@PYTHONPATH=.:tests $(BIN)/python -m fuzz --mutants $(MUTANTS) --keep build/fuzz

faults: $(VENV)/.installed-dev  # kills, full disks, lost streams, signals and the like: what is survived, counted
	@PYTHONPATH=.:tests $(BIN)/python -m faults

LINES := 2000
truth: $(VENV)/.installed-dev  # random lines: what is said of them, against an oracle and a second program
	@PYTHONPATH=.:tests $(BIN)/python -m truth --lines $(LINES) --keep build/truth

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
	@$(BIN)/$(PIP) -e .
	@touch $@

$(VENV)/.installed-dev: pyproject.toml $(LOCK) | $(VENV)/bin/python
	@echo "installing samespin and its checks into $(VENV) (once; about a minute)"
	@$(BIN)/$(PIP) $(LOCKED) || { echo "can't install what $(LOCK) locks; from the ranges: make LOCK="; exit 1; }
	@$(BIN)/$(PIP) $(EDITABLE)
	@touch $@ $(VENV)/.installed

clean:
	rm -rf $(VENV) .venv-lowest .venv-newest build dist .mypy_cache .ruff_cache .pytest_cache .coverage
