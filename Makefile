# Every command works from a bare checkout: the environment is made on first use.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin

.PHONY: run replay test test-long check bench bench-estimate verify calibrate adopt screenshots words bench-pages bench-answer example docs lock clean

# The screens in your browser; the journal lies in your own data folder.
run: $(VENV)/.run-ready
	@$(BIN)/slowfire serve

# The example year as text: what is inside, and what the next caddy needs.
replay: $(VENV)/.run-ready
	@$(BIN)/slowfire replay examples/courtyard --bin "Timber bin"
	@echo
	@$(BIN)/slowfire mix "peelings=1 caddy" --with office_paper_shredded,bark_chips_fine --loose --into examples/courtyard --bin "Timber bin"

test: $(VENV)/.test-ready
	$(BIN)/python -m pytest -n 2 --dist loadfile -m "not long"

test-long: $(VENV)/.test-ready
	SLOWFIRE_RANDOM=new $(BIN)/python -m pytest -n 2 --dist loadfile

check: $(VENV)/.test-ready
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports
	$(BIN)/python -m pytest --doctest-modules src/slowfire --ignore=src/slowfire/journal/migrations -q

bench: $(VENV)/.test-ready
	$(BIN)/python -m benchmarks.column

# Twin trials of the estimate; resumes where it stopped. ESTIMATE="--bins 4" and the like go through.
bench-estimate: $(VENV)/.run-ready
	$(BIN)/python -m benchmarks.estimate $(ESTIMATE)

verify: $(VENV)/.run-ready
	$(BIN)/python tools/verify.py

# The fit resumes where it stopped; `make adopt` writes it into the package.
calibrate: $(VENV)/.run-ready
	$(BIN)/python tools/calibrate.py

adopt: $(VENV)/.run-ready
	$(BIN)/python tools/calibrate.py --adopt

screenshots: $(VENV)/.test-ready
	$(BIN)/python tools/make_screenshots.py
	$(BIN)/python tools/make_page_pictures.py

# Words of the pages for translators, and their catalogues compiled.
words: $(VENV)/.run-ready
	$(BIN)/python tools/make_words.py

# Answers of the pages to 20 people at once.
bench-pages: $(VENV)/.test-ready
	$(BIN)/python -m benchmarks.pages

# An answer after a reading: time and memory.
bench-answer: $(VENV)/.run-ready
	$(BIN)/python -m benchmarks.answer

docs: $(VENV)/.run-ready
	$(BIN)/python tools/make_docs.py

example: $(VENV)/.run-ready
	$(BIN)/python tools/make_courtyard.py
	$(BIN)/python tools/make_example.py

$(VENV)/.run-ready: requirements.txt pyproject.toml tools/make_venv.py
	@$(PYTHON) tools/make_venv.py requirements.txt $@

$(VENV)/.test-ready: requirements-dev.txt pyproject.toml tools/make_venv.py
	@$(PYTHON) tools/make_venv.py requirements-dev.txt $@

lock:
	uv pip compile --universal --generate-hashes --extra build --extra mqtt pyproject.toml -o requirements.txt --no-header --no-annotate
	uv pip compile --universal --generate-hashes --extra dev pyproject.toml -o requirements-dev.txt --no-header --no-annotate

clean:
	rm -rf $(VENV) build dist
