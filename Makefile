# ballbench: the commands of the house. Needs Python 3.11 or later, make and a shell.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
SRC := $(shell find src -name '*.py' -o -name '*.toml')

# A test that hangs is shown where it stands, and ends the run.
NO_HANGING := --max-worker-restart=0 -o faulthandler_timeout=600 -o faulthandler_exit_on_timeout=true

.PHONY: demo open test check bench pictures lock clean

demo: $(VENV)/.run
	$(BIN)/ballbench demo

open: $(VENV)/.run
	$(BIN)/ballbench open

test: $(VENV)/.test
	sh .ci/browser
	sh .ci/postgresql
	$(BIN)/python -m pytest --numprocesses=auto --maxprocesses=4 --dist=loadfile $(NO_HANGING)

check: $(VENV)/.test
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	$(BIN)/mypy
	$(BIN)/lint-imports
	$(BIN)/ballbench specs --check src/ballbench/specs/catalogue

bench: $(VENV)/.test
	$(BIN)/python -m benchmarks

pictures: $(VENV)/.test
	$(BIN)/python docs/pictures/make_pictures.py

# The two environments: what the tool needs to run, and what its tests need on top.
$(VENV)/.run: requirements/run.txt requirements/build.txt pyproject.toml
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements/build.txt
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements/run.txt
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation -e .
	touch $@

$(VENV)/.test: $(VENV)/.run requirements/test.txt
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements/test.txt
	touch $@

# Hashed locks for every platform; no registry's address is written into them.
lock:
	uv pip compile --universal --python-version 3.11 --generate-hashes --no-emit-index-url --no-annotate --no-header --quiet requirements/build.in -o requirements/build.txt
	uv pip compile --universal --python-version 3.11 --generate-hashes --no-emit-index-url --no-annotate --no-header --quiet pyproject.toml -o requirements/run.txt
	uv pip compile --universal --python-version 3.11 --generate-hashes --no-emit-index-url --no-annotate --no-header --quiet pyproject.toml --extra test -c requirements/run.txt -o requirements/test.txt

clean:
	rm -rf $(VENV) build dist report
