# The chores of the project. `make run` and `make test` need Rust, Node and make, and fetch what else they need: packages
# of npm into web/, and for the browser tests Debian's Chromium, as root or with sudo.

CARGO ?= cargo
NPM ?= npm
CHROMIUM ?= /usr/bin/chromium
SUDO ?= $(shell [ "$$(id -u)" = 0 ] || command -v sudo)
TARGET ?= $(shell $(CARGO) metadata --no-deps --format-version 1 | sed 's/.*"target_directory":"\([^"]*\)".*/\1/')
OUT ?= out
CORPUS ?= ../shared/corpus/dev
# Folders of checked readings: the fixtures, and the corpus where it lies beside the project.
READINGS := fixtures $(wildcard $(CORPUS))

# Pages of the demo's booklet that the README shows.
ROWS_PAGE ?= 4
CHART_PAGE ?= 6

# The front end as built, which the program holds, and the packages that it is built with.
PAGES := web/dist/index.html
PACKAGES := web/node_modules/.package-lock.json
SOURCES := $(shell find web/src web/public -type f) web/index.html web/vite.config.ts web/svelte.config.js

.PHONY: run revive test check unit docs page web browser corpus bench pictures clean

run: revive ## Revives the demo into out/, and opens the app with the demo on its shelf; Ctrl+C ends it.
	$(CARGO) run --release --locked --quiet -- open --demo

revive: $(PAGES) ## Builds the program and revives the demo into out/.
	$(CARGO) build --release --locked
	$(CARGO) run --release --locked --quiet -- revive demo/carriage-rug.txt -o $(OUT) \
		--title "A Carriage Rug in Twelve Squares" \
		--source-title "The Penny Sheaf of Useful and Fancy Work" --year 1858 --page "Part XIV." \
		--gauge 9.5x13 --plan demo/carriage-rug.plan

test: $(PAGES) check unit docs page web browser ## Everything that must hold before a change lands.

$(PACKAGES): web/package.json web/package-lock.json
	cd web && $(NPM) ci --no-audit --no-fund
	touch $@

$(PAGES): $(PACKAGES) $(SOURCES)
	cd web && $(NPM) run build

web: $(PACKAGES) ## The front end's types and unit tests.
	cd web && $(NPM) run check
	cd web && $(NPM) test

browser: $(PAGES) | $(CHROMIUM) ## The whole app in a real browser.
	$(CARGO) build --locked
	cd web && LOOPWRIGHT_PROGRAM="$(TARGET)/debug/loopwright" CHROMIUM="$(CHROMIUM)" $(NPM) run test:browser

/usr/bin/chromium:
	$(SUDO) apt-get update
	$(SUDO) apt-get install -y --no-install-recommends chromium

check:
	$(CARGO) fmt --all --check
	$(CARGO) clippy --workspace --all-targets --locked -- -D warnings

# The tests run under cargo-nextest where it is there; it does not know doc tests, which have their own line.
unit:
	@if $(CARGO) nextest --version >/dev/null 2>&1; then \
		$(CARGO) nextest run --workspace --locked; \
	else \
		$(CARGO) test --workspace --locked --lib --bins --tests --examples; \
	fi

page: $(PACKAGES) | $(CHROMIUM) ## The page for the phone, in Node and in a real browser.
	node --test crates/along/tests/page.mjs

docs:
	$(CARGO) test --workspace --locked --doc
	RUSTDOCFLAGS="-D warnings" $(CARGO) doc --workspace --locked --no-deps --quiet

corpus: ## Measures the reader against checked readings.
	$(CARGO) run --release --locked --quiet -p corpus-eval -- $(READINGS)

bench: ## Measures the time of each stage.
	$(CARGO) bench --locked -p reading

pictures: revive ## Draws the pictures of the README; needs pdftoppm.
	mkdir -p docs/pictures
	cp $(OUT)/chart-1.svg docs/pictures/chart-square.svg
	pdftoppm -r 80 -png -singlefile -f $(ROWS_PAGE) -l $(ROWS_PAGE) $(OUT)/booklet.pdf docs/pictures/booklet-rows
	pdftoppm -r 80 -png -singlefile -f $(CHART_PAGE) -l $(CHART_PAGE) $(OUT)/booklet.pdf docs/pictures/booklet-chart

clean:
	$(CARGO) clean
	rm -rf $(OUT) web/node_modules
	find web/dist -mindepth 1 ! -name .gitkeep -delete
