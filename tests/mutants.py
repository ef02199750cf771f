"""Mutation testing of floor/, checks/ and the bound: ``python tests/mutants.py checks --sample 100``.

A sample of the changes that cosmic-ray knows (another operator, number, comparison, an empty loop ...) is
made to a copy of the sources, one at a time, and tests that reach the changed line are run until one fails.
Which tests reach a line, and how long each takes, is what ``.ci/coverage`` has measured, so run that first.
Compiled functions of floor/ and the bound run uncompiled.  Prints each change that no test noticed; a result
that is in OUT already is not worked out again.
"""

from __future__ import annotations

import argparse
import ast
import importlib
import json
import os
import random
import resource
import shutil
import subprocess
import sys
import tempfile
import time
import xml.etree.ElementTree as xml
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[1]
MEASURED = Path(os.environ.get("FOOTWORK_MEASURED", ROOT / ".measured"))
"""Where ``.ci/coverage`` leaves its data."""

BEYOND = ("core/RemoveDecorator", "core/NoOp")
"""Operators left out: decorators are how functions are compiled, which uncompiled is nothing."""

SECONDS, LONG = 40.0, 12.0
"""Of tests for each change, by what they took when they were measured, and of one that is only run where none
else reaches the line."""

HUNG = 2
"""So many times the measured time, and ``LEAST`` seconds, of a processor count as a loop without an end."""
LEAST = 15


@dataclass(frozen=True)
class Room:
    """Modules that are changed, folders of tests that ought to notice, and whether these run compiled."""

    modules: tuple[str, ...]
    tests: tuple[str, ...]
    compiled: bool


ROOMS = {
    "floor": Room(("floor",), ("floor", "arrange"), False),
    "checks": Room(("checks",), ("checks", "arrange", "elsewhere", "page"), True),
    "bound": Room(
        ("arrange/relaxation", "arrange/tightening", "arrange/branch_and_bound"), ("arrange",), False
    ),
}


@dataclass(frozen=True)
class Mutant:
    """One change of one module: the so many-th that an operator can make."""

    module: str
    operator: str
    occurrence: int
    line: int

    @property
    def key(self) -> str:
        return f"{self.module}:{self.line} {self.operator} {self.occurrence}"


class Measured:
    """Which tests of a room reach a line, and what they take."""

    def __init__(self, room: Room) -> None:
        coverage = importlib.import_module("coverage")
        kind = "compiled" if room.compiled else "uncompiled"
        self._data = coverage.CoverageData(str(MEASURED / f"{kind}.db"))
        self._data.read()
        self._files = {self._short(name): name for name in self._data.measured_files()}
        self._seconds = dict(self._times(kind))
        self._room = room

    @staticmethod
    def _short(name: str) -> str:
        return name.rpartition("src/footwork/")[2]

    @staticmethod
    def _test(context: str) -> str:
        """A test by its modules and name, from the folder of all tests."""
        return context.partition("|")[0].removeprefix("tests.")

    def _times(self, kind: str) -> Iterator[tuple[str, float]]:
        """Seconds of each test that passed, all its parameters together."""
        total: Counter[str] = Counter()
        failed = set()
        for file in (MEASURED / kind).glob("*.xml"):
            for case in xml.parse(file).getroot().iter("testcase"):
                name = self._test(f"{case.get('classname')}.{str(case.get('name')).partition('[')[0]}")
                total[name] += float(case.get("time", 0.0))
                if case.find("failure") is not None or case.find("error") is not None:
                    failed.add(name)
        yield from ((name, seconds) for name, seconds in total.items() if name not in failed)

    @cache  # noqa: B019 - one object, as long as the process
    def _lines(self, module: str) -> dict[int, list[str]]:
        """Of each line of a module the tests that reach it."""
        return self._data.contexts_by_lineno(self._files[module]) if module in self._files else {}

    @cache  # noqa: B019 - one object, as long as the process
    def _lines_reached(self, module: str) -> Counter[str]:
        """Of each test how many lines of a module it reaches."""
        return Counter(self._test(c) for contexts in self._lines(module).values() for c in set(contexts))

    def tests(self, module: str, line: int) -> list[str]:
        """Names for pytest of tests that reach a line, within ``SECONDS``: those first that reach most of the
        module, and of them the quickest."""
        lines = self._lines(module)
        found, spent = [], 0.0
        reach = {self._test(context) for context in lines.get(line, ())}
        if "" in reach:  # read when the module is: any of its tests may notice
            reach = {self._test(context) for contexts in lines.values() for context in contexts}
        most, takes = self._lines_reached(module), self._seconds
        for name in sorted(reach & takes.keys(), key=lambda n: (takes[n] > LONG, -most[n], takes[n])):
            if name.partition(".")[0] in self._room.tests and (spent + takes[name] <= SECONDS or not found):
                spent += takes[name]
                *path, test = name.split(".")
                found.append(f"tests/{'/'.join(path)}.py::{test}")
        return found

    def seconds(self, tests: list[str]) -> float:
        """What they took together."""
        named = (t.removeprefix("tests/").replace(".py::", ".").replace("/", ".") for t in tests)
        return sum(self._seconds[name] for name in named)


def mutants(room: Room) -> list[Mutant]:
    """All changes of a room's modules that change what they do."""
    plugins = importlib.import_module("cosmic_ray.plugins")
    trees = importlib.import_module("cosmic_ray.ast")
    found = []
    for folder in room.modules:
        for path in sorted((ROOT / "src/footwork" / folder).glob("*.py")):
            module = path.relative_to(ROOT / "src/footwork").as_posix()
            nodes = list(trees.ast_nodes(trees.get_ast_from_path(path)))
            for operator in plugins.operator_names():
                kind = plugins.get_operator(operator)
                if operator in BEYOND or kind.arguments():
                    continue
                places = (at for node in nodes for at in kind().mutation_positions(node))
                found += [Mutant(module, operator, n, at[0][0]) for n, at in enumerate(places)]
    return found


def changed(mutant: Mutant) -> str | None:
    """The module's text with the change, or None where it changes nothing but annotations."""
    plugins = importlib.import_module("cosmic_ray.plugins")
    mutating = importlib.import_module("cosmic_ray.mutating")
    code = (ROOT / "src/footwork" / mutant.module).read_text(encoding="utf-8")
    other = mutating.mutate_code(code, plugins.get_operator(mutant.operator)(), mutant.occurrence)
    if other is None:
        return None
    try:
        return None if _meaning(code) == _meaning(other) else str(other)
    except SyntaxError:
        return None


def _meaning(code: str) -> str:
    """A module without annotations and docstrings."""
    tree = ast.parse(code)
    for node in ast.walk(tree):
        if isinstance(node, ast.arg | ast.AnnAssign):
            node.annotation = ast.Constant(None)
        if isinstance(node, ast.FunctionDef):
            node.returns = None
        if isinstance(node, ast.Assign) and isinstance(node.value, ast.BinOp | ast.Subscript):
            named = node.targets[0]
            if isinstance(named, ast.Name) and named.id.lstrip("_")[:1].isupper() and not named.id.isupper():
                node.value = ast.Constant(None)  # an alias of a type
    return ast.dump(tree)


class Trial:
    """A copy of the sources, and processes that try the tests on it with one module changed.

    They are forked off one that has read the libraries, which is most of the time of a quick test.
    """

    def __init__(self, folder: Path, room: Room) -> None:
        self.source, self.room = folder / "src", room
        shutil.copytree(ROOT / "src", self.source, ignore=shutil.ignore_patterns("*.pyc", "*.egg-info"))
        compiling = [sys.executable, "-m", "compileall", "-q", "--invalidation-mode", "checked-hash"]
        subprocess.run([*compiling, str(self.source)], check=True)
        os.environ |= {"PYTHONPATH": str(self.source), "PYTHONDONTWRITEBYTECODE": "1"}
        os.environ |= {"OPENBLAS_NUM_THREADS": "1", "NUMBA_DISABLE_JIT": str(int(not room.compiled))}
        os.chdir(ROOT)
        for library in ("numpy", "numba", "shapely", "networkx", "pydantic", "tomlkit", "pytest", "scipy"):
            importlib.import_module(library)
        hypothesis = importlib.import_module("hypothesis")
        phases = [hypothesis.Phase.explicit, hypothesis.Phase.generate]  # a failure need not be made small
        hypothesis.settings.register_profile("mutants", phases=phases, database=None, derandomize=True)
        hypothesis.settings.load_profile("mutants")

    def outcome(self, mutant: Mutant | None, text: str, tests: list[str], seconds: float) -> str:
        """ "killed", "hung" or "survived"; of no mutant, what the tests say of the sources as they are."""
        path = self.source / "footwork" / (mutant.module if mutant else "__init__.py")
        kept = path.read_text(encoding="utf-8")
        path.write_text(text if mutant else kept, encoding="utf-8")
        try:
            status = self._forked(tests, int(LEAST + HUNG * seconds))
        finally:
            path.write_text(kept, encoding="utf-8")
        if os.WIFSIGNALED(status):
            return "hung"
        return "survived" if os.WEXITSTATUS(status) == 0 else "killed"

    def _forked(self, tests: list[str], seconds: int) -> int:
        """How a process ended that ran the tests."""
        child = os.fork()
        if child == 0:
            resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 5))
            quiet = os.open(os.devnull, os.O_WRONLY)
            os.dup2(quiet, 1)
            os.dup2(quiet, 2)
            sys.path.insert(0, str(self.source))
            usual = ["-x", "-q", "-p", "no:cacheprovider", "-p", "no:xdist"]
            os._exit(int(importlib.import_module("pytest").main([*usual, *tests])))
        return os.waitpid(child, 0)[1]


def tried(name: str, sample: int, seed: int, out: Path) -> list[dict[str, Any]]:
    """The outcomes of a sample of a room's mutants, each told as it is known."""
    room = ROOMS[name]
    known = {}
    if out.exists():
        known = {one["key"]: one for one in map(json.loads, out.read_text(encoding="utf-8").splitlines())}
    measured, results = Measured(room), []
    everything = mutants(room)
    order = random.Random(seed).sample(everything, len(everything))
    with tempfile.TemporaryDirectory() as folder:
        trial = Trial(Path(folder), room)
        some = next(tests for one in order if (tests := measured.tests(one.module, one.line)))
        if trial.outcome(None, "", some, measured.seconds(some)) != "survived":
            raise SystemExit(f"these fail with nothing changed: {' '.join(some)}")
        for mutant in order:
            if len(results) == sample:
                break
            one = known.get(mutant.key) or _tried(trial, measured, mutant)
            if one is None:
                continue
            if mutant.key not in known:
                with out.open("a", encoding="utf-8") as kept:
                    kept.write(json.dumps(one) + "\n")
            results.append(one)
            spent = time.process_time() + sum(os.times()[2:4])
            print(f"{len(results)} {one['outcome']:11} {one['key']} ({spent:.0f} s in all)", flush=True)
    return results


def _tried(trial: Trial, measured: Measured, mutant: Mutant) -> dict[str, Any] | None:
    """What became of a mutant; None where it is none."""
    text = changed(mutant)
    if text is None:
        return None
    tests = measured.tests(mutant.module, mutant.line)
    outcome = "not reached"
    if tests:
        outcome = trial.outcome(mutant, text, tests, measured.seconds(tests))
    return {"key": mutant.key, "outcome": outcome, "tests": len(tests), "change": _change(mutant, text)}


def _change(mutant: Mutant, text: str) -> list[str]:
    """The lines before and after."""
    code = (ROOT / "src/footwork" / mutant.module).read_text(encoding="utf-8").splitlines()
    lines = [(a.strip(), b.strip()) for a, b in zip(code, text.splitlines(), strict=False) if a != b]
    return list(lines[0]) if lines else []


def main() -> None:
    """Try a sample, and print what survived."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("room", choices=ROOMS)
    parser.add_argument("--sample", type=int, default=100)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--out", type=Path, default=None)
    asked = parser.parse_args()
    out = asked.out or MEASURED / f"mutants-{asked.room}.jsonl"
    results = tried(asked.room, asked.sample, asked.seed, out)
    print(f"\n{asked.room}:", dict(Counter(one["outcome"] for one in results)))
    for one in results:
        if one["outcome"] in ("survived", "not reached"):
            print(f"\n{one['outcome']}: {one['key']} ({one['tests']} tests)")
            print("\n".join(f"  {sign} {line}" for sign, line in zip("-+", one["change"], strict=False)))


if __name__ == "__main__":
    main()
