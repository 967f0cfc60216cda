# The chores of the project. `make run` and `make test` need nothing but Rust and Cargo.

CARGO ?= cargo
OUT ?= out
CORPUS ?= ../shared/corpus/dev
# Folders of checked readings: the fixtures, and the corpus where it lies beside the project.
READINGS := fixtures $(wildcard $(CORPUS))

# Pages of the demo's booklet that the README shows.
ROWS_PAGE ?= 4
CHART_PAGE ?= 6

.PHONY: run test check unit page docs corpus bench pictures clean

run: ## Builds the program and revives the demo into out/.
	$(CARGO) build --release --locked
	$(CARGO) run --release --locked --quiet -- revive demo/carriage-rug.txt -o $(OUT) \
		--title "A Carriage Rug in Twelve Squares" \
		--source-title "The Penny Sheaf of Useful and Fancy Work" --year 1858 --page "Part XIV." \
		--gauge 9.5x13 --plan demo/carriage-rug.plan

test: check unit page docs ## Everything that must hold before a change lands.

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

page: ## The page for the phone, in Node and in Chromium; without Node it is passed over, without a browser in part.
	@if command -v node >/dev/null; then \
		node --test crates/along/tests/page.mjs; \
	else \
		echo "skipped: Node is not installed, so the page for the phone is not tested"; \
	fi

docs:
	$(CARGO) test --workspace --locked --doc
	RUSTDOCFLAGS="-D warnings" $(CARGO) doc --workspace --locked --no-deps --quiet

corpus: ## Measures the reader against checked readings.
	$(CARGO) run --release --locked --quiet -p corpus-eval -- $(READINGS)

bench: ## Measures the time of each stage.
	$(CARGO) bench --locked -p reading

pictures: run ## Draws the pictures of the README; needs pdftoppm.
	mkdir -p docs/pictures
	cp $(OUT)/chart-1.svg docs/pictures/chart-square.svg
	pdftoppm -r 80 -png -singlefile -f $(ROWS_PAGE) -l $(ROWS_PAGE) $(OUT)/booklet.pdf docs/pictures/booklet-rows
	pdftoppm -r 80 -png -singlefile -f $(CHART_PAGE) -l $(CHART_PAGE) $(OUT)/booklet.pdf docs/pictures/booklet-chart

clean:
	$(CARGO) clean
	rm -rf $(OUT)
