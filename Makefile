# make        lists the targets
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
DEMO := build/demo-studio

.DEFAULT_GOAL := help
.PHONY: help run test verify bench lint docs e2e lock messages clean

help: ## this list
	@grep -hE '^[a-z0-9]+:.*##' $(MAKEFILE_LIST) | sed 's/:.*##/\t/' | expand -t 12

# The environment: pinned versions with hashes, then this project without asking for more.
$(VENV)/.ready: requirements/dev.txt pyproject.toml hatch_build.py
	$(PYTHON) -m venv $(VENV)
	$(BIN)/pip install --quiet --disable-pip-version-check --require-hashes -r requirements/dev.txt
	$(BIN)/pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation -e .
	touch $@

messages: $(VENV)/.ready
	@$(BIN)/python hatch_build.py

run: messages ## plan the demo days, the earlier one first, and say where the run sheets are
	rm -rf $(DEMO)
	$(BIN)/pourwright demo $(DEMO)
	for day in $(DEMO)/days/*/day.toml; do $(BIN)/pourwright plan $$day || exit 1; done

test: lint ## lint, types, import contract and all quick tests
	$(BIN)/pytest -n 2 --dist loadfile

lint: messages ## style, types, import contract
	$(BIN)/ruff check src tests bench hatch_build.py
	$(BIN)/ruff format --check src tests bench hatch_build.py
	$(BIN)/mypy
	$(BIN)/lint-imports --no-cache

verify: messages ## outside evidence and long checks
	$(BIN)/pourwright verify
	$(BIN)/pytest tests/verification $(wildcard tests/long)

bench: messages ## speed and memory as ratios, side by side
	$(BIN)/python -m bench

docs: messages ## the generated reference pages and the picture of the README
	$(BIN)/python -m docs.build
	$(BIN)/python -m docs.pictures

e2e: messages ## as a person would: fresh environment, real command, PDF to pictures
	$(BIN)/pytest -n 2 --dist loadfile tests/e2e

lock: ## pin every dependency again (name==version with hashes, no addresses)
	$(BIN)/pip-compile --quiet --strip-extras --allow-unsafe --generate-hashes --no-emit-index-url --no-emit-find-links \
	  --no-emit-trusted-host --no-header -o requirements/run.txt pyproject.toml
	$(BIN)/pip-compile --quiet --strip-extras --allow-unsafe --generate-hashes --no-emit-index-url --no-emit-find-links \
	  --no-emit-trusted-host --no-header -o requirements/dev.txt requirements/dev.in

clean: ## remove what make made
	rm -rf build $(VENV)
