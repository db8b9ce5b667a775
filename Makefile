# Everything runs in .venv beside this file. `make demo` and `make test` need Python 3.11 or newer, make and, for the
# browser tests, Debian's chromium.
PYTHON ?= python3.11
VENV := .venv
BIN := $(VENV)/bin
READY := $(VENV)/.ready
COLLECTION ?= demo-collection
export PIP_DISABLE_PIP_VERSION_CHECK := 1

.PHONY: demo test check lock forms photographs accuracy reliability clean

$(READY): requirements.txt pyproject.toml
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --require-hashes --no-deps -r requirements.txt
	$(BIN)/python -m pip install --quiet --no-deps --no-build-isolation --editable .
	touch $@

# Build the demo collection (once) and show it in the browser.
demo: $(READY)
	$(BIN)/weftglass demo $(COLLECTION)

# Every check and every test, browser tests included.
test: $(READY) check
	OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1 $(BIN)/python -m pytest -n 2 --dist loadgroup

check: $(READY)
	$(BIN)/ruff check src tests tools benchmarks
	$(BIN)/ruff format --check src tests tools benchmarks
	$(BIN)/mypy
	$(BIN)/lint-imports

# The locked requirements; they name no registry.
lock:
	$(BIN)/uv pip compile pyproject.toml --group dev --universal --python-version 3.11 --generate-hashes \
		--no-emit-index-url --no-emit-find-links --no-header --no-annotate -o requirements.txt

# The starter library, from the published dimensions.
forms: $(READY)
	$(BIN)/python tools/make_starter_forms.py

# How often the right vessel is named, and whether the probabilities mean what they say.
accuracy: $(READY)
	OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1 $(BIN)/python benchmarks/inside_accuracy.py --answers 2000 --keep build/accuracy
	OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1 $(BIN)/python benchmarks/fit_unlisted.py --try --seed 20261126 --answers 3000 --keep build/accuracy

# The table and picture of how often answers were right, from what `make accuracy` kept.
reliability: $(READY)
	$(BIN)/python benchmarks/reliability.py build/accuracy

clean:
	rm -rf $(VENV) build dist .mypy_cache .ruff_cache .pytest_cache
