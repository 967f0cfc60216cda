"""The parses of old texts counted by lark's Earley parser beside our own.

    cargo run --release -p reading --example export_stretches -- TEXT ... > stretches.json
    python bench/peers/parse_lark.py crates/reading/data/grammar.txt stretches.json

Needs lark. Prints a table, and fails where the two do not count the same parses.
"""

import json
import re
import statistics
import sys
import time
from itertools import product
from pathlib import Path

from lark import Lark, Token
from lark.lexer import Lexer

MODULUS = 1 << 128  # of our count
TIMES = 5


def rules(grammar):
    """Our rules by name, each with its right sides; those with a symbol that may be absent are written out."""
    out, name = {}, None
    for line in grammar.splitlines():
        line = line.split("#")[0].strip()
        if not line:
            continue
        if not line.startswith("|"):
            name, line = line.split("=", 1)
            name = name.strip().rstrip("!")
        right = re.split("->|~", line.lstrip("|"))[0].split()
        parts = [[[symbol]] if symbol[-1] != "?" else [[symbol[:-1]], []] for symbol in right]
        out.setdefault(name, []).extend(sum(choice, []) for choice in product(*parts))
    return out


def in_larks_form(by_name):
    """The same rules for lark, which takes no right side twice: the second gets a name of its own."""
    lines = []
    for name, rights in by_name.items():
        words = []
        for at, right in enumerate(rights):
            body = " ".join(symbol if symbol.isupper() else f"r_{symbol}" for symbol in right)
            if right in rights[:at]:
                lines.append(f"r_{name}_{at}: {body}")
                body = f"r_{name}_{at}"
            words.append(body)
        lines.append(f"r_{name}: " + " | ".join(words))
    return lines


def terminals(by_name):
    return sorted({symbol for rights in by_name.values() for right in rights for symbol in right if symbol.isupper()})


class Given(Lexer):
    """The tokens are there already."""

    def __init__(self, _):
        pass

    def lex(self, names):
        return (Token(name, name) for name in names)


def over_one_way(by_name, edges):
    """A parser for stretches of which each terminal is known, and the names of these."""
    lines = in_larks_form(by_name) + ["%declare " + " ".join(terminals(by_name))]
    parser = Lark("\n".join(lines), start="r_block", parser="earley", lexer=Given, ambiguity="forest")
    return parser, [name for _, _, name in edges]


def over_all_ways(by_name, edges):
    """A parser for one stretch whose words may be several terminals, and the stretch: each word is a letter of its own,
    and a terminal any of the strings that it may stand for, the longest first as lark wants them."""
    letters = "".join(chr(0x4E00 + at) for at in range(max(end for _, end, _ in edges)))
    strings = {name: ["\uffff"] for name in terminals(by_name)}
    for start, end, name in edges:
        if name in strings:
            strings[name].append(letters[start:end])
    lines = in_larks_form(by_name)
    lines += [f"{name}: /{'|'.join(sorted(some, key=len, reverse=True))}/" for name, some in strings.items()]
    lexer = "dynamic_complete"
    return Lark("\n".join(lines), start="r_block", parser="earley", lexer=lexer, ambiguity="forest"), letters


def trees(root):
    """How many trees a forest holds."""
    known = {}

    def count(node):
        if not hasattr(node, "children"):
            return 1
        if id(node) not in known:
            known[id(node)] = sum(count(packed.left) * count(packed.right) for packed in node.children)
        return known[id(node)]

    return count(root)


def side_by_side(build, by_name, stretch):
    parser, text = build(by_name, stretch["edges"])
    seconds = []
    for _ in range(TIMES):
        began = time.perf_counter()
        root = parser.parse(text)
        seconds.append(time.perf_counter() - began)
    parses = trees(root)
    if parses % MODULUS != int(stretch["parses"]):
        sys.exit(f"lark counts {parses} parses, we count {stretch['parses']}")
    theirs, ours = statistics.median(seconds), stretch["seconds"]
    return f"{parses} | {1000 * theirs:.1f} | {1000 * ours:.3f} | {theirs / ours:.0f}"


def main():
    sys.setrecursionlimit(100_000)
    by_name = rules(Path(sys.argv[1]).read_text())
    print("| text | words | parses of its cheapest terminals | lark, ms | ours, ms | times "
          "| terminals | parses of all | lark, ms | ours, ms | times |")
    print("|---|--:|" + "--:|" * 9)
    for stretch in sorted(json.loads(Path(sys.argv[2]).read_text()), key=lambda stretch: stretch["words"]):
        one = side_by_side(over_one_way, by_name, stretch["one"])
        every = side_by_side(over_all_ways, by_name, stretch["all"])
        number = len(stretch["all"]["edges"])
        print(f"| {Path(stretch['file']).stem} | {stretch['words']} | {one} | {number} | {every} |", flush=True)


if __name__ == "__main__":
    main()
