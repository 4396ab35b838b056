# Two commands do everything: `make demo` opens the page on the sample rides, `make test` runs every test.
# Each makes its own virtual environment from the locked versions in requirements/.

PYTHON ?= python3
VENV   := .venv
BIN    := $(VENV)/bin
PORT   ?= 8050
PIP    := $(BIN)/python -m pip --disable-pip-version-check
# One thread for small matrices, where a second works as much again for nothing; and what is compiled is kept, which
# hundreds of processes would each compile anew where the environment says not to.
PYTEST := PYTHONDONTWRITEBYTECODE= OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1 $(BIN)/python -m pytest

# The locks are complete, so nothing is resolved anew; then pip looks whether what is installed fits together.
LOCKED := install -q --no-deps --require-hashes -r
CHECK  := $(PIP) check || { echo "what is in $(VENV) does not fit together: make clean, then try again"; exit 1; }

.PHONY: demo test lint proof fuzz bench browser lock clean
.DELETE_ON_ERROR:

demo: $(VENV)/.run
	@echo "ridelog opens on http://127.0.0.1:$(PORT)  (Ctrl-C ends it)"
	@$(BIN)/python app.py --port $(PORT)

# One worker a core, four at most (each takes half a gigabyte); a file's tests share what they set up. Files go as they
# stand: those with the most tests first would leave the browser's, few and long, for the end, and one worker idle.
test: $(VENV)/.all browser
	$(PYTEST) -m "not proof" -n auto --maxprocesses 4 --dist loadfile --no-loadscope-reorder

lint: $(VENV)/.all
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy

proof: $(VENV)/.all browser
	$(PYTEST) -m proof

# Minutes of inputs that nobody meant, one worker a core; what is found is kept in tests/fuzz/found/.
MINUTES ?= 10
FIRST   ?= $(shell date +%s)0000
fuzz: $(VENV)/.all
	$(BIN)/python -m tests.fuzz.run --minutes $(MINUTES) --first $(FIRST) --note
	$(BIN)/python -m tests.fuzz.run --minutes $(MINUTES) --first $(FIRST) --note --readers

bench: $(VENV)/.all
	$(BIN)/python tests/benchmarks/run.py
	$(BIN)/python tests/benchmarks/pairs.py
	$(BIN)/python tests/benchmarks/fleet.py

# A browser for the page's tests, and what sets the type of a PDF: taken as it is, or from Debian's packages where we may install them.
browser:
	@if command -v chromium >/dev/null 2>&1; then :; \
	elif command -v apt-get >/dev/null 2>&1 && [ "$$(id -u)" = 0 ]; then \
	  apt-get update -q && DEBIAN_FRONTEND=noninteractive apt-get install -y -q chromium chromium-driver libatomic1 \
	    libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0; \
	else echo "no Chromium here: the browser tests will be skipped (install the package chromium to run them)"; fi

$(VENV)/bin/python:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
	  { echo "ridelog needs Python 3.11 or newer; $(PYTHON) is older (try make PYTHON=python3.12 …)"; exit 1; }
	$(PYTHON) -m venv $(VENV) || \
	  { rm -rf $(VENV); echo "could not make a virtual environment: on Debian, install python3-venv"; exit 1; }

$(VENV)/.run: requirements/run.txt pyproject.toml | $(VENV)/bin/python
	$(PIP) $(LOCKED) requirements/run.txt
	$(PIP) install -q --no-deps --no-build-isolation -e .
	@$(CHECK)
	@touch $@

$(VENV)/.all: requirements/all.txt $(VENV)/.run
	$(PIP) $(LOCKED) requirements/all.txt
	@$(CHECK)
	@touch $@

# Maintainers only: renew the locked versions (needs the program uv), without what only PyPy asks for.
COMPILE := uv pip compile -q --universal --python-version 3.11 --generate-hashes --no-annotate --no-header \
  --no-emit-index-url --no-emit-package brotlicffi
lock:
	$(COMPILE) pyproject.toml -o requirements/run.txt
	$(COMPILE) --extra test --extra lint -c requirements/run.txt pyproject.toml -o requirements/all.txt

clean:
	rm -rf $(VENV) build *.egg-info .pytest_cache .ruff_cache .mypy_cache .coverage*
