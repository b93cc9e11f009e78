# The one place of the commands people type here. `make` lists them.

SAMPLE ?= samples/wet-betaine-dough.json
ARGS ?=
PYTHON ?=

VENV := .venv
BIN := $(VENV)/bin
# What is used is compiled when it is first imported: compiling everything ahead was a third to a half of the computing of an install.
INSTALL = $(BIN)/python -m pip install -qq --no-input --disable-pip-version-check --no-compile

PYTEST = OPENBLAS_NUM_THREADS=1 $(BIN)/python -m pytest -n 2 --dist loadfile --no-loadscope-reorder

.DEFAULT_GOAL := help
.NOTPARALLEL:
.DELETE_ON_ERROR:
.PHONY: help demo test quick coverage check serve docs bench samples screenshots learning soak mutate law-age format wheel \
	release-notes sbom lock clean check-format check-lint check-types check-imports check-audit check-page check-clients check-container check-size check-tests

help: ## list these commands
	@awk -F ':.*## ' '/^[a-z-]+:.*## / { printf "  make %-13s %s\n", $$1, $$2 }' Makefile
	@printf '\n%s\n%s\n' \
		'  PYTHON=... names the Python to set up with (3.11 or newer); ARGS="..." is handed on to test, serve,' \
		'  bench and soak; SAMPLE=samples/... chooses the dough of the demo.'

demo: $(VENV)/installed-demo ## correct a dough that failed, then name the command that opens the page
	@$(BIN)/dough-advisor correct "$(SAMPLE)"
	@printf '\n%s\n' 'The same on a page, for a phone or a desk: make serve'

test: $(VENV)/installed-test ## run the tests, on two cores
	@$(PYTEST) $(ARGS)

quick: $(VENV)/installed-test ## run the tests that take a moment: no page, nothing generated
	@$(PYTEST) -m "not slow" --ignore tests/page --ignore tests/hard $(ARGS)

coverage: $(VENV)/installed-test ## run the tests and count which lines they pass (half as long again)
	@$(PYTEST) --cov $(ARGS)

check: check-format check-lint check-types check-imports check-size check-page check-clients check-tests ## all that must hold: format, lint, types, imports, size, page, clients, tests

serve: $(VENV)/installed-serve ## start the page and the JSON API on this machine
	@$(BIN)/dough-advisor serve $(ARGS)

docs: $(VENV)/installed-docs ## write the help as a site of plain files, into build/docs
	@$(BIN)/python -m mkdocs build --quiet --strict --config-file docs/mkdocs.yml

bench: $(VENV)/installed-test ## measure one correction and one call
	@OPENBLAS_NUM_THREADS=1 $(BIN)/python -m tests.bench $(ARGS)

samples: $(VENV)/installed-test ## write the answer to every sample anew, and what the README shows
	@$(BIN)/python -m tests.answers
	@$(BIN)/python -m tests.foundation.shown

screenshots: $(VENV)/installed-test ## take the pictures of the page that the README shows
	@PYTHONPATH=tests $(BIN)/python -m page.screenshots

learning: $(VENV)/installed-test ## let invented makers learn their doughs and write docs/learning.md (ARGS="--makers 1000")
	@OPENBLAS_NUM_THREADS=1 $(BIN)/python -m tests.soak.makers --output docs/learning.md $(ARGS)

soak: $(VENV)/installed-test ## load a server ten minutes, ask it 10 000 generated requests, kill it 40 times, try every generated case
	@$(BIN)/python -m tests.soak $(ARGS)
	@$(BIN)/python -m tests.soak.promises
	@$(BIN)/python -m tests.hard.generated
	@PYTHONPATH=tests $(BIN)/python -m tests.soak.kills
	@for of in coarse_balances levers causes exact_wishes sensitivities drafts; do \
		PYTHONPATH=tests $(BIN)/python -m tests.soak.$$of || exit 1; done
	@DOUGH_EVERY_CASE=1 $(PYTEST) -m slow tests

mutate: $(VENV)/installed-test ## change figures of the rules one by one and see whether a test falls (some ten minutes; ARGS="--seed 8")
	@$(BIN)/python -m tests.mutate $(ARGS)

law-age: $(VENV)/installed-demo ## tell how old each market's law is; fails where a review is due within thirty days
	@$(BIN)/python -m advisor.law.age

format: $(VENV)/installed-check ## put the code in form and mend what can be mended unasked
	@$(BIN)/python -m ruff format .
	@$(BIN)/python -m ruff check --fix .

wheel: $(VENV)/installed-check ## build the wheel and run it away from here
	@$(BIN)/python .ci/wheel.py "$(SAMPLE)"

release-notes: $(VENV)/installed-demo ## draft the notes of this version: what CHANGELOG.md says since the last one
	@$(BIN)/python .ci/release_notes.py

sbom: $(VENV)/installed-check ## write which packages are installed here, with licences, to sbom.json
	@$(BIN)/python .ci/sbom.py sbom.json

lock: $(VENV)/installed-check ## pin every package of the extra "all", and what node checks with, with their hashes
	@$(INSTALL) pip-tools
	@$(BIN)/python -m piptools compile -q --extra all --generate-hashes --strip-extras --no-header --no-annotate \
		--no-emit-index-url --no-emit-trusted-host --no-emit-find-links -o requirements.lock pyproject.toml
	@rm -f .ci/node/package-lock.json
	@npm install --silent --prefix .ci/node --package-lock-only --omit-lockfile-registry-resolved --ignore-scripts
	@sed -i '/^# WARNING: pip install will require/,/^dough-advisor @/d' requirements.lock

clean: ## remove what was set up, built and cached (a notebook stays)
	rm -rf $(VENV) build dist .pytest_cache .mypy_cache .ruff_cache .import_linter_cache .hypothesis .coverage
	find advisor api rules samples tests .ci -name __pycache__ -type d -prune -exec rm -rf {} +

check-format: $(VENV)/installed-check
	@$(BIN)/python -m ruff format --check .

check-lint: $(VENV)/installed-check
	@$(BIN)/python -m ruff check .

check-types: $(VENV)/installed-check
	@$(BIN)/python -m mypy

check-imports: $(VENV)/installed-check
	@$(BIN)/lint-imports --no-logo

check-audit: $(VENV)/installed-check
	@$(BIN)/python .ci/audit.py

check-size: $(VENV)/created
	@$(BIN)/python .ci/statements.py

check-page: $(VENV)/created
	@.ci/javascript

check-clients: $(VENV)/installed-check check-page
	@PYTHONPATH=. $(BIN)/python .ci/clients.py

check-container: $(VENV)/installed-check
	@PYTHONPATH=. $(BIN)/python .ci/container.py

check-tests: $(VENV)/installed-check
	@$(PYTEST)

$(VENV)/created:
	@python=$$(PYTHON="$(PYTHON)" sh .ci/python) && "$$python" -m venv --clear $(VENV)
	@touch $@

$(VENV)/installed-demo: pyproject.toml $(VENV)/created
	@echo 'Setting up $(VENV) ...'
	@$(INSTALL) --editable . || { sh .ci/no-packages; exit 1; }
	@touch $@

$(VENV)/installed-serve $(VENV)/installed-docs $(VENV)/installed-test $(VENV)/installed-check: $(VENV)/installed-%: pyproject.toml $(VENV)/created
	@echo 'Setting up $(VENV) for "make $*" ...'
	@$(INSTALL) --editable '.[$*]' || { sh .ci/no-packages; exit 1; }
	@touch $@
