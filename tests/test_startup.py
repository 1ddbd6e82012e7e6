"""What a command imports: nothing heavy that it does not use, so that an answer comes at once. No timings here."""

import ast
import os
import re
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

SOURCES = Path(__file__).parents[1] / "src"


@cache
def imported(*arguments: str) -> dict[str, tuple[str, ...]]:
    """The modules that the program imports for these arguments; for each, those that were being imported then.

    Read from `-X importtime`, which prints a module after what it imports, and indents by two for each level.
    """
    answer = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "tarebook", *arguments],
        env={**os.environ, "PYTHONPATH": str(SOURCES)},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert answer.returncode in (0, 1, 3), answer.stderr[-2000:]
    lines = re.findall(r"^import time: +\d+ \| +\d+ \| ( *)(\S+)$", answer.stderr, re.MULTILINE)
    found: dict[str, tuple[str, ...]] = {}
    above: list[str] = []
    for indent, module in reversed(lines):
        del above[len(indent) // 2 :]
        found[module] = tuple(above)
        above.append(module)
    assert len(found) > 50
    return found


def within(modules, package):
    return sorted(name for name in modules if name == package or name.startswith(package + "."))


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    folder = tmp_path_factory.mktemp("demo") / "demo"
    imported("demo", str(folder))
    return folder


HEAVY_FOR_HELP = [
    "pydantic",
    "pydantic_core",
    "tomli",
    "jsonschema",
    "rich",
    "tarebook.car",
    "tarebook.rules",
    "tarebook.judge",
    "tarebook.weight",
    "tarebook.route",
    "tarebook.kinds",
    "tarebook.toml_source",
]


@pytest.mark.parametrize("package", HEAVY_FOR_HELP)
@pytest.mark.parametrize("option", ["--help", "--version"])
def test_help_imports_nothing_that_judges(option, package):
    assert within(imported(option), "typer")
    assert within(imported(option), package) == []


HEAVY_FOR_CHECK = ["jsonschema", "rich", "scipy", "numpy", "asyncio", "unittest", "pip", "click", "hypothesis"]


@pytest.mark.parametrize("package", HEAVY_FOR_CHECK)
@pytest.mark.parametrize("more", [(), ("--json",)])
def test_check_imports_only_what_it_uses(demo, more, package):
    modules = imported("check", str(demo / "car.toml"), "--on", "2026-11-25", *more)
    assert within(modules, "tarebook.judge")
    assert not within(modules, "pydantic")
    assert within(modules, package) == []


def test_check_imports_no_difflib_of_its_own(demo):
    # The library that reads the arguments imports it itself; we need it only where a name is wrong.
    modules = imported("check", str(demo / "car.toml"), "--on", "2026-11-25")
    assert any(outer.split(".")[0] == "typer" for outer in modules.get("difflib", ("typer",)))


LATE = {"difflib", "jsonschema", "rich", "scipy", "numpy", "asyncio", "unittest"}
MODULES = sorted((SOURCES / "tarebook").rglob("*.py"))


def at_once(tree):
    """The packages that a module imports as soon as it is imported itself."""
    waiting, found = [*tree.body], set()
    while waiting:
        node = waiting.pop()
        if isinstance(node, ast.Import):
            found |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            found.add((node.module or "").split(".")[0])
        elif not isinstance(node, (ast.FunctionDef, ast.Lambda)):
            waiting += ast.iter_child_nodes(node)
    return found


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.relative_to(SOURCES / "tarebook").as_posix())
def test_no_module_imports_the_heavy_ones_at_once(path):
    assert at_once(ast.parse(path.read_text(encoding="utf-8"))) & LATE == set()


def test_what_counts_as_at_once():
    text = "import numpy.linalg\nif x:\n    from rich import box\ndef f():\n    import difflib\n"
    assert at_once(ast.parse(text)) == {"numpy", "rich"}


def test_json_waits_until_it_is_asked_for(demo):
    assert "tarebook.show.report_json" not in imported("check", str(demo / "car.toml"), "--on", "2026-11-25")
    assert "tarebook.show.report_json" in imported("check", str(demo / "car.toml"), "--on", "2026-11-25", "--json")


@pytest.mark.parametrize("command", [("kinds", "cage"), ("facts", "seats")])
def test_looking_up_a_name_imports_no_models(command):
    modules = imported(*command)
    for package in ("tarebook.fields", "tarebook.car", "tarebook.rules", "tarebook.judge", "tarebook.api"):
        assert within(modules, package) == []


def test_the_package_alone_imports_nothing():
    code = "import sys, tarebook; print(*[name for name in sys.modules if name.startswith('tarebook')])"
    answer = subprocess.run(
        [sys.executable, "-c", code],
        env={**os.environ, "PYTHONPATH": str(SOURCES)},
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    assert set(answer.stdout.split()) == {"tarebook", "tarebook.version"}
