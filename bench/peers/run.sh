#!/bin/sh
# Runs general-purpose tools on our tasks beside ours, and prints a table for each; README.md tells what is compared.
# The Python packages go to the folder $PEERS, which is made and kept.
set -eu
cd "$(dirname "$0")/../.."
peers=${PEERS:-${XDG_CACHE_HOME:-$HOME/.cache}/loopwright-peers}
results=$(mktemp -d)
trap 'rm -rf "$results"' EXIT

[ -x "$peers/bin/python" ] || python3 -m venv "$peers"
"$peers/bin/pip" install --quiet --requirement bench/peers/requirements.txt

texts=$(for name in short-row-wedges by-difference bracket-times oak-point-edging-1886 cast-on-per-needle \
    lace-french-1887 jacket-yoke-increase-rows-1909 corner-square running-sentence-1840 bonnet-front-1874 \
    heel-flap-and-turning dolls-sock-whole-1908 cap-crown-intakes-1884; do echo "fixtures/reading/$name.toml"; done)

echo "Parsing: lark"
# shellcheck disable=SC2086  # one argument for each text
cargo run --release --quiet -p reading --example export_stretches -- $texts > "$results/stretches.json"
"$peers/bin/python" bench/peers/parse_lark.py crates/reading/data/grammar.txt "$results/stretches.json"

echo "Correcting: OR-Tools CP-SAT"
# One text for each class of misprint. The whole pages among the fixtures make models of gigabytes.
models=$(find fixtures/mending -name '*.toml' ! -name '*-1[89][0-9][0-9].toml' | sort)
# shellcheck disable=SC2086  # one argument for each text
cargo run --release --quiet -p mending --example export_models -- $models > "$results/models.jsonl"
"$peers/bin/python" bench/peers/correct_cp_sat.py "$results/models.jsonl"

echo "Cloth: SciPy's L-BFGS-B"
cargo run --release --quiet -p cloth --example export_energy -- 100 "$results/energy.json"
"$peers/bin/python" bench/peers/cloth_scipy.py "$results/energy.json"
