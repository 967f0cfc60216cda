"""The cheapest corrections found by OR-Tools' CP-SAT beside our own search.

    cargo run --release -p mending --example export_models -- FIXTURE ... > models.jsonl
    python bench/peers/correct_cp_sat.py models.jsonl

Needs ortools. Each model goes to the solver twice: as it is, and without the steps that cannot be part of the answer;
either is given up after some time. Prints a table and how many costs are the same, and fails where one is not.
"""

import json
import math
import sys
import time
from collections import defaultdict
from pathlib import Path

from ortools.sat.python import cp_model

NAT = 1_000_000  # costs are whole numbers for the solver
WORKERS = 2
LIMIT = 20  # seconds for a model as it is
LEFT_LIMIT = 60  # and for what is left of it


def cp_sat(model):
    """A flow of one through the places, row by row, with a literal for each step and each correction."""
    cp = cp_model.CpModel()
    made = [cp.new_bool_var("") for _ in model["corrections"]]
    costs = [(literal, one["cost"]) for literal, one in zip(made, model["corrections"])]
    flows = []  # of each layer of steps: the literals by where they leave, where they come, and what they correct
    for steps in [model["starts"], *model["steps"]]:
        literals = [cp.new_bool_var("") for _ in steps]
        costs += [(literal, step["cost"]) for literal, step in zip(literals, steps)]
        cp.add_exactly_one(literals)
        flows.append([grouped(literals, steps, key) for key in ("from", "to", "correction")])
    for (_, coming, _), (leaving, _, _) in zip(flows, flows[1:]):
        for place in coming | leaving:
            cp.add(sum(coming[place]) == sum(leaving[place]))
    for which, (literal, one) in enumerate(zip(made, model["corrections"])):
        for layer in [row + 1 for row in one["rows"]] or [0]:
            cp.add(sum(flows[layer][2][which]) == literal)
    cp.add(sum(made) <= model["most"])
    if model["back_to"] is not None:
        unclosed = cp.new_bool_var("")
        costs.append((unclosed, model["unclosed"]))
        began, ended = by_count(model, flows, model["back_to"]), by_count(model, flows, -1)
        for count in ended:
            cp.add(sum(ended[count]) <= sum(began[count]) + unclosed)
    cp.minimize(sum(round(cost * NAT) * literal for literal, cost in costs))
    return cp


def grouped(literals, steps, key):
    out = defaultdict(list)
    for literal, step in zip(literals, steps):
        out[step[key]].append(literal)
    return out


def by_count(model, flows, layer):
    """The literals that come to a layer of places, by the number of stitches there."""
    out = defaultdict(list)
    for place, literals in flows[layer][1].items():
        out[model["counts"][layer][place]] += literals
    return out


def pruned(model):
    """The model without the steps that no way as cheap as the text as printed takes, found by shortest paths."""

    def cost(step):
        which = step["correction"]
        alone = which is not None and len(model["corrections"][which]["rows"]) <= 1
        return step["cost"] + (model["corrections"][which]["cost"] if alone else 0)

    layers = [model["starts"], *model["steps"]]
    printed, before, onward = [{0: 0.0}], [{0: 0.0}], [defaultdict(float)]
    for steps in layers:
        as_printed = [step for step in steps if step["correction"] is None]
        printed.append(cheapest((step["to"], printed[-1].get(step["from"], math.inf) + cost(step)) for step in as_printed))
        before.append(cheapest((step["to"], before[-1][step["from"]] + cost(step)) for step in steps))
    for steps in reversed(layers):
        onward.append(cheapest((step["from"], onward[-1][step["to"]] + cost(step)) for step in steps))
    most = min(printed[-1].values()) + model["unclosed"] + 1 / NAT
    kept = [[step for step in steps if start[step["from"]] + cost(step) + end[step["to"]] <= most]
            for steps, start, end in zip(layers, before, onward[-2::-1])]
    return {**model, "starts": kept[0], "steps": kept[1:]}


def cheapest(costs):
    out = defaultdict(lambda: math.inf)
    for key, cost in costs:
        out[key] = min(cost, out[key])
    return out


def solve(problem, model, limit):
    """How long the solver takes, building the model not counted; `None` if it is given up."""
    cp = cp_sat(model)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = WORKERS
    solver.parameters.max_time_in_seconds = limit
    began = time.perf_counter()
    status = solver.solve(cp)
    seconds = time.perf_counter() - began
    if status != cp_model.OPTIMAL:
        return None
    steps = 2 * len(model["steps"]) + 2  # each rounded by half at most, the corrections too
    if abs(solver.objective_value / NAT - problem["optimum"]) > steps / NAT:
        sys.exit(f"{problem['name']}: CP-SAT {solver.objective_value / NAT}, ours {problem['optimum']}")
    return seconds


def told(theirs, ours, limit):
    if theirs is None:
        return f"over {limit * 1000} | over {limit / ours:.0f}"
    return f"{1000 * theirs:.0f} | {theirs / ours:.0f}"


def main():
    print("| text | rows | corrections | cost | ours, ms | steps | CP-SAT, ms | times "
          "| steps left | leaving out, ms | CP-SAT, ms | times |")
    print("|---|" + "--:|" * 11)
    same, models = [0, 0], 0
    for line in Path(sys.argv[1]).read_text().splitlines():
        problem = json.loads(line)
        model, ours = problem["model"], problem["seconds"]
        began = time.perf_counter()
        small = pruned(model)
        pruning = time.perf_counter() - began
        times = [solve(problem, model, LIMIT), solve(problem, small, LEFT_LIMIT)]
        same = [number + (seconds is not None) for number, seconds in zip(same, times)]
        models += 1
        sizes = [sum(map(len, one["steps"])) for one in (model, small)]
        print(f"| {problem['name']} | {len(model['steps'])} | {len(model['corrections'])} | {problem['optimum']:.2f} "
              f"| {1000 * ours:.2f} | {sizes[0]} | {told(times[0], ours, LIMIT)} "
              f"| {sizes[1]} | {1000 * pruning:.0f} | {told(times[1], ours, LEFT_LIMIT)} |", flush=True)
    print(f"Same cost: {same[0]} of {models} models as they are, {same[1]} of what is left of them.")


if __name__ == "__main__":
    main()
