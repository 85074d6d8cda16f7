# make demo    an invented workshop, ready to click through        make test    every check
# make bench   measured figures                                    make clean   remove what these made

PYTHON ?= python3
PORT ?= 8080
# Test modules run side by side, the slow ones (in the browser) first; 0 runs them in this process.
WORKERS ?= auto
BIN := .venv/bin
DEMO := demo_db/data

.PHONY: demo demo-fresh test bench clean

demo: .venv/app.stamp $(DEMO)/sign_in.txt
	$(BIN)/spanwright serve --data $(DEMO) --port $(PORT) --demo

demo-fresh: .venv/app.stamp
	$(BIN)/python -m demo_db.build $(DEMO) --fresh

test: .venv/test.stamp
	$(BIN)/python tools/ensure_chromium.py
	$(BIN)/python -m pytest -n $(WORKERS) --dist loadfile --no-loadscope-reorder $(ARGS)

bench: .venv/bench.stamp
	$(BIN)/python tools/ensure_chromium.py
	$(BIN)/python -m tests.bench

clean:
	rm -rf .venv *.egg-info $(DEMO) .pytest_cache .hypothesis
	find . -name __pycache__ -type d -prune -exec rm -rf {} +

.venv/made.stamp:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11) and "Spanwright needs Python 3.11 or newer; if you have one beside this: make PYTHON=python3.12")'
	$(PYTHON) -m venv .venv
	touch $@

.venv/app.stamp: pyproject.toml .venv/made.stamp
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -e .
	touch $@

.venv/test.stamp: pyproject.toml .venv/made.stamp
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -e '.[test]'
	touch $@ .venv/app.stamp

.venv/bench.stamp: .venv/test.stamp
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -e '.[test,bench]'
	touch $@

$(DEMO)/sign_in.txt: | .venv/app.stamp
	$(BIN)/python -m demo_db.build $(DEMO)
