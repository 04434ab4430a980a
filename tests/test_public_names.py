from __future__ import annotations

import ast
import importlib
import json
import pkgutil
import re
import subprocess
import sys
from collections.abc import Iterator
from importlib.metadata import version
from pathlib import Path
from types import ModuleType

import pytest

import ballbench

SOURCE = Path(ballbench.__file__).parent
WITHIN_ALEMBIC = "ballbench.store.migrations.env"  # alembic runs it with a connection in hand; nothing imports it
MODULES = sorted(
    info.name for info in pkgutil.walk_packages([str(SOURCE)], "ballbench.") if info.name != WITHIN_ALEMBIC
)
FILES = sorted(SOURCE.rglob("*.py"))
HEAVY = (
    "alembic",
    "altair",
    "fastapi",
    "fastexcel",
    "jinja2",
    "numpy",
    "pint",
    "polars",
    "pydantic",
    "scipy",
    "sqlalchemy",
    "typst",
    "uvicorn",
    "vl_convert",
)


def loaded(name: str) -> ModuleType:
    """Import a module of the package."""
    return importlib.import_module(name)


@pytest.mark.parametrize("name", ["ballbench", *MODULES])
def test_public_names_are_listed_sorted_and_there(name: str) -> None:
    """Where a module lists its public names, they stand in the order of ruff's RUF022, each once, and resolve."""
    module = loaded(name)
    names = getattr(module, "__all__", None)
    if names is None:
        assert not [n for n, _ in public_definitions(name)], "public functions and classes need an __all__"
        return
    order = {"constant": 0, "class": 1, "function": 2}

    def rank(word: str) -> tuple[int, str]:
        kind = "constant" if word.isupper() else "class" if word[:1].isupper() else "function"
        return order[kind], word

    assert list(names) == sorted(set(names), key=rank)
    assert [n for n in names if not hasattr(module, n)] == []


def definitions(tree: ast.AST, outer: str = "") -> Iterator[tuple[str, ast.FunctionDef | ast.ClassDef]]:
    """Public functions, classes and methods of a parsed module, with their dotted names."""
    for node in getattr(tree, "body", []):
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
            yield f"{outer}{node.name}", node
            if isinstance(node, ast.ClassDef):
                yield from definitions(node, f"{outer}{node.name}.")


def parsed(file: Path) -> ast.Module:
    """Parse a source file."""
    return ast.parse(file.read_text(encoding="utf-8"))


def public_definitions(name: str) -> list[tuple[str, ast.FunctionDef | ast.ClassDef]]:
    """Public functions and classes that a module defines itself."""
    file = loaded(name).__file__
    assert file is not None
    return [(n, node) for n, node in definitions(parsed(Path(file))) if "." not in n]


@pytest.mark.parametrize("file", FILES, ids=lambda file: str(file.relative_to(SOURCE)))
def test_every_public_name_says_what_it_is(file: Path) -> None:
    """Modules, public functions, classes and methods have a docstring whose first line is a whole sentence."""
    tree = parsed(file)
    for name, node in [("the module", tree), *definitions(tree)]:
        text = ast.get_docstring(node)
        assert text, f"{file.name}: {name} has no docstring"
        first = text.splitlines()[0].strip()
        assert first.endswith((".", "!", "?", ":", "``")), f"{file.name}: the first line of {name} is no sentence"


def listed(file: Path) -> set[str]:
    """Names in a module's ``__all__``."""
    for node in parsed(file).body:
        if isinstance(node, ast.Assign) and any(isinstance(t, ast.Name) and t.id == "__all__" for t in node.targets):
            return set(ast.literal_eval(node.value))
    return set()


def raised_here(node: ast.FunctionDef) -> set[str]:
    """Classes of ours that a function raises in its own body."""
    ours = set(ballbench_errors())
    found = set()
    for inner in ast.walk(node):
        if isinstance(inner, ast.Raise) and isinstance(inner.exc, ast.Call) and isinstance(inner.exc.func, ast.Name):
            found |= {inner.exc.func.id} & ours
    return found


def ballbench_errors() -> list[str]:
    """Names of the error classes."""
    return [name for name in loaded("ballbench.errors").__all__ if name != "Fault"]


def relatives(name: str) -> set[str]:
    """An error class and what it is a kind of."""
    return {kind.__name__ for kind in getattr(loaded("ballbench.errors"), name).__mro__}


@pytest.mark.parametrize("file", FILES, ids=lambda file: str(file.relative_to(SOURCE)))
def test_what_a_public_function_raises_stands_in_its_docstring(file: Path) -> None:
    """A listed function that raises one of the package's errors itself has a Raises section that names it."""
    public = listed(file)
    for name, node in definitions(parsed(file)):
        if name not in public or not isinstance(node, ast.FunctionDef):
            continue
        section = re.split(r"\n\s*Raises\n\s*-+\n", ast.get_docstring(node) or "")
        for error in raised_here(node):
            assert len(section) == 2, f"{file.name}: {name} raises {error} and has no Raises section"
            assert relatives(error) & set(re.findall(r"\w+", section[1])), f"{file.name}: {name} raises {error}"


def arrays_of(node: ast.FunctionDef) -> list[str]:
    """Arguments that are annotated as arrays."""
    arguments = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
    words = r"\b(Floats|Ints|NDArray|ArrayLike)\b"
    return [a.arg for a in arguments if a.annotation is not None and re.search(words, ast.unparse(a.annotation))]


@pytest.mark.parametrize("file", FILES, ids=lambda file: str(file.relative_to(SOURCE)))
def test_public_functions_of_arrays_state_their_shapes(file: Path) -> None:
    """The docstring of a listed function that takes arrays writes a shape such as ``(n, k)`` or says array-like."""
    public = listed(file)
    for name, node in definitions(parsed(file)):
        if name in public and isinstance(node, ast.FunctionDef) and arrays_of(node):
            text = ast.get_docstring(node) or ""
            shape = re.search(
                r"\(\s*\w+(?: [-+*] \w+)?\s*(?:,\s*(?:\w+)?(?: [-+*] \w+)?\s*)*\)|[Ss]ame shape|shape", text
            )
            assert shape, f"{file.name}: {name} takes {arrays_of(node)} and states no shape"


def modules_after(code: str) -> set[str]:
    """Names of all modules that a fresh interpreter has after some code."""
    code = f"{code}\nimport json, sys\nprint('@' + json.dumps(sorted(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return set(json.loads(done.stdout.splitlines()[-1].removeprefix("@")))


def started_with(*words: str) -> str:
    """Code that starts the program with some words and ends well."""
    return (
        f"import sys; sys.argv = ['ballbench', *{list(words)}]\n"
        "from ballbench.cli.main import app\nfrom ballbench.cli.failures import guarded\nassert guarded(app) == 0"
    )


@pytest.mark.parametrize("code", ["import ballbench", started_with("--help")], ids=["import ballbench", "help"])
def test_no_heavy_library_loads_before_it_is_used(code: str) -> None:
    """Importing the package, or asking for help, loads no library for numbers, tables, units, models or drawing."""
    assert modules_after(code) & {*HEAVY, "xlsxwriter", "ballbench.workflows", "ballbench.presentation"} == set()


@pytest.mark.parametrize("words", [("judge", "--help"), ("compare", "--help"), ("demo", "--help"), ("--version",)])
def test_help_of_a_command_loads_nothing_that_computes(words: tuple[str, ...]) -> None:
    """Help of a command loads no such library either, but for pydantic, which typer itself reads options with."""
    assert modules_after(started_with(*words)) & {*HEAVY, "ballbench.workflows"} <= {"pydantic"}


def test_showing_a_requirement_loads_no_drawing_and_no_tables() -> None:
    """`specs ID` reads a requirement alone: no library for tables, statistics, charts, pages or typesetting loads.

    The library for units looks for Dask by itself, and Dask, which is there for the tests, brings templates along.
    """
    unused = {"altair", "vl_convert", "typst", "polars", "scipy.stats", "xlsxwriter", "fastexcel"}
    loaded = modules_after(started_with("specs", "golf"))
    assert loaded & unused == set()
    assert "jinja2" not in loaded or "dask" in loaded


def test_the_version_is_the_package_s() -> None:
    """`ballbench.__version__` is what the installed distribution says."""
    assert ballbench.__version__ == version("ballbench")
