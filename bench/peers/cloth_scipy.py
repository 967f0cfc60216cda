"""The energy of the cloth, minimised by SciPy's L-BFGS-B beside our own solver.

    cargo run --release -p cloth --example export_energy -- 100 energy.json
    python bench/peers/cloth_scipy.py energy.json

Needs numpy and scipy. The energy is written anew here from the formulas in the head of crates/cloth/src/energy.rs, so
that it is a check on them too. Prints when SciPy reaches our energy, and how far the shapes differ.
"""

import json
import sys
import time

import numpy as np
from scipy.optimize import minimize


class Reached(Exception):
    """Raised to stop once the energy is reached."""


def main():
    data = json.load(open(sys.argv[1]))
    start = np.array(data["start"])
    ends = np.array(data["links"])
    rest = np.array(data["rest"])
    stiffness = np.array(data["stiffness"])
    contact = np.array(data["contact"])
    main_links = np.array(data["main"])
    folds = np.array(data["folds"])
    bend, bed = data["bend"], data["bed"]
    count = len(start)

    def hinges(one, other, side_one, side_other, angles):
        """Nodes with both links along, the two links across with their shares, and the rest folds."""
        nodes = np.where((main_links[:, one] >= 0) & (main_links[:, other] >= 0))[0]
        across = main_links[nodes][:, [side_one, side_other]]
        there = across >= 0
        share = there / np.maximum(there.sum(axis=1, keepdims=True), 1)
        links = main_links[nodes]
        return links[:, one], links[:, other], np.maximum(across, 0), share, angles[nodes]

    # Left, right, down, up are the places 0 to 3.
    kinds = [hinges(0, 1, 2, 3, folds[:, 0]), hinges(2, 3, 0, 1, folds[:, 1])]

    def scatter(out, places, values):
        for axis in range(3):
            out[:, axis] += np.bincount(places, values[:, axis], minlength=len(out))

    def energy(flat):
        x = flat.reshape(count, 3)
        along = x[ends[:, 1]] - x[ends[:, 0]]
        length = np.linalg.norm(along, axis=1)
        unit = along / length[:, None]
        # Contacts only push.
        excess = np.where(contact, np.minimum(length - rest, 0), length - rest)
        value = 0.5 * np.dot(stiffness, excess**2)
        by_unit = np.zeros_like(unit)
        for behind, ahead, across, share, angle in kinds:
            b, a = unit[behind], unit[ahead]
            v = unit[across[:, 0]] * share[:, :1] + unit[across[:, 1]] * share[:, 1:]
            c, s = bend * np.cos(angle)[:, None], bend * np.sin(angle)[:, None]
            a_v = np.cross(a, v)
            value += np.sum(c[:, 0] * (1 - np.sum(a * b, axis=1)) - s[:, 0] * np.sum(b * a_v, axis=1))
            scatter(by_unit, behind, -(c * a + s * a_v))
            scatter(by_unit, ahead, -(c * b + s * np.cross(v, b)))
            by_v = -s * np.cross(b, a)
            scatter(by_unit, across[:, 0], by_v * share[:, :1])
            scatter(by_unit, across[:, 1], by_v * share[:, 1:])
        turning = (by_unit - unit * np.sum(by_unit * unit, axis=1)[:, None]) / length[:, None]
        force = unit * (stiffness * excess)[:, None] + turning
        gradient = np.zeros_like(x)
        scatter(gradient, ends[:, 1], force)
        scatter(gradient, ends[:, 0], -force)
        # Overturned stitches have energy besides; a rib has none.
        value += 0.5 * bed * np.sum(x[:, 2] ** 2)
        gradient[:, 2] += bed * x[:, 2]
        return value, gradient.ravel()

    found = data["found"]
    ours = found["energies"][-1]
    at_ours = energy(np.array(found["positions"]).ravel())[0]
    print(f"{count} stitches; our energy {ours:.6f}, by these formulas {at_ours:.6f}, in {found['seconds']:.3f} s")
    assert abs(at_ours - ours) < 1e-6 * abs(ours)

    target = ours + 1e-5 * abs(ours)
    began = time.perf_counter()
    seen = {"steps": 0}

    def watch(intermediate_result):
        seen["steps"] += 1
        seen["energy"], seen["x"] = intermediate_result.fun, intermediate_result.x.copy()
        if intermediate_result.fun <= target:
            raise Reached

    try:
        minimize(energy, start.ravel(), jac=True, method="L-BFGS-B", callback=watch,
                 options={"maxiter": 20000, "maxfun": 40000, "ftol": 0, "gtol": 1e-9, "maxcor": 10})
    except Reached:
        pass
    seconds = time.perf_counter() - began
    print(f"SciPy: energy {seen['energy']:.6f} after {seen['steps']} steps in {seconds:.3f} s, "
          f"{seconds / found['seconds']:.1f} times as long")
    theirs, own = seen["x"].reshape(count, 3), np.array(found["positions"])
    for name, axis in [("width", 0), ("height", 1)]:
        one, other = np.ptp(own[:, axis]), np.ptp(theirs[:, axis])
        print(f"{name}: ours {one:.3f}, SciPy's {other:.3f}, {100 * (other / one - 1):+.2f} %")


if __name__ == "__main__":
    main()
