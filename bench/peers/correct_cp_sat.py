"""The cheapest corrections found by OR-Tools' CP-SAT beside our own search.

    cargo run --release -p mending --example export_models -- FIXTURE ... > models.jsonl
    python bench/peers/correct_cp_sat.py models.jsonl

Needs ortools. Prints a table, and fails where the two do not find the same cost.
"""

import json
import sys
import time
from collections import defaultdict

from ortools.sat.python import cp_model

NAT = 1_000_000  # costs are whole numbers for the solver


def cp_sat(model):
    """A flow of one through the places, row by row, with a literal for each step and each correction."""
    cp = cp_model.CpModel()
    made = [cp.new_bool_var("") for _ in model["corrections"]]
    costs = [(literal, one["cost"]) for literal, one in zip(made, model["corrections"])]
    flows = []  # of each layer of places: the literals that come to each place, and those that leave it
    for steps in [model["starts"], *model["steps"]]:
        literals = [cp.new_bool_var("") for _ in steps]
        costs += [(literal, step["cost"]) for literal, step in zip(literals, steps)]
        cp.add_exactly_one(literals)
        leaving, coming, correcting = defaultdict(list), defaultdict(list), defaultdict(list)
        for literal, step in zip(literals, steps):
            leaving[step["from"]].append(literal)
            coming[step["to"]].append(literal)
            correcting[step["correction"]].append(literal)
        flows.append((leaving, coming, correcting))
    for (_, coming, _), (leaving, _, _) in zip(flows, flows[1:]):
        for place in set(coming) | set(leaving):
            cp.add(sum(coming[place]) == sum(leaving[place]))
    for which, (literal, one) in enumerate(zip(made, model["corrections"])):
        for row in one["rows"] or [-1]:
            cp.add(sum(flows[row + 1][2][which]) == literal)
    cp.add(sum(made) <= model["most"])
    if model["back_to"] is not None:
        unclosed = cp.new_bool_var("")
        costs.append((unclosed, model["unclosed"]))
        began, ended = by_count(model, flows, model["back_to"]), by_count(model, flows, -1)
        for count in ended:
            cp.add(sum(ended[count]) <= sum(began[count]) + unclosed)
    cp.minimize(sum(round(cost * NAT) * literal for literal, cost in costs))
    return cp


def by_count(model, flows, layer):
    """The literals that come to a layer, by the number of stitches there."""
    out = defaultdict(list)
    for place, literals in flows[layer][1].items():
        out[model["counts"][layer][place]] += literals
    return out


def main():
    print("| text | rows | steps | corrections | cost | CP-SAT, ms | ours, ms | times |")
    print("|---|--:|--:|--:|--:|--:|--:|--:|")
    for line in open(sys.argv[1]):
        problem = json.loads(line)
        model = problem["model"]
        cp = cp_sat(model)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = int(sys.argv[2])
        solver.parameters.max_time_in_seconds = 60
        began = time.perf_counter()
        status = solver.solve(cp)
        seconds = time.perf_counter() - began
        cost = solver.objective_value / NAT
        print(f"| {problem['name']} | {len(model['steps'])} | {sum(map(len, model['steps']))} "
              f"| {len(model['corrections'])} | {cost:.4f} | {problem['optimum']:.4f} | {1000 * seconds:.0f} | {1000 * problem['seconds']:.2f} "
              f"| {seconds / problem['seconds']:.0f} |", solver.status_name(status), flush=True)


if __name__ == "__main__":
    main()
