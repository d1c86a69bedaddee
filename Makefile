# Every target sets up what it needs in .venv; see scripts/setup.
.DEFAULT_GOAL := help
.DELETE_ON_ERROR:
PY := .venv/bin/python
OUT ?= demo-result

.PHONY: help setup demo test format lint types layers faults bench outside wheel-check clean

help: ## say what there is
	@grep -E '^[a-z-]+:.*## ' $(MAKEFILE_LIST) | sed -E 's/:.*## /\t/' | expand -t 14

setup: ## make .venv from the lock file
	@scripts/setup

demo: setup ## plan the demo order into demo-result (OUT=folder)
	$(PY) examples/solids/make_all.py examples/solids/out
	$(PY) -m proveout plan examples/order.toml --shop examples/shop.toml --out $(OUT) || [ $$? -eq 3 ]

test: setup lint types layers ## all that must hold before a change lands
	$(PY) -m pytest -q -n 2 --dist worksteal

format: setup ## rewrite the code in the agreed form
	.venv/bin/ruff format .
	.venv/bin/ruff check --fix .

lint: setup
	.venv/bin/ruff format --check .
	.venv/bin/ruff check .

types: setup
	.venv/bin/pyright

layers: setup
	.venv/bin/lint-imports --no-logo

faults: setup ## plant each fault of tests/faults and see its test fail (ONLY=id or area)
	$(PY) scripts/plant_faults.py $(if $(ONLY),--only $(ONLY))

bench: setup ## run the programs of bench/ (ONLY=name, FULL=1 lifts the 240 s)
	$(PY) bench/run.py $(if $(ONLY),--only $(ONLY)) $(if $(FULL),--full)

outside: setup ## plan every file of the outside data (PROVEOUT_DATA) and print the table
	$(PY) bench/outside.py

wheel-check: setup ## build the wheel, install it alone with pip, run it
	scripts/wheel_check

clean: ## remove .venv, caches and results
	rm -rf .venv .ruff_cache .pytest_cache .import_linter_cache .hypothesis build dist $(OUT)
	find src tests bench scripts examples -name __pycache__ -type d -prune -exec rm -rf {} +
