"""The rules of the house that no linter knows: each is shown to hold, and to catch what breaks it."""

from __future__ import annotations

import ast
import re
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
CODE = ("pmsched", "seeds_demo")
LONGEST_MODULE = 400
THE_CLOCK = Path("pmsched/clock.py")

TOP_LEVEL = {
    "CHANGELOG.md",
    "DEVELOPERS.md",
    "LICENSE",
    "README.md",
    "migrations",
    "pmsched",
    "pyproject.toml",
    "seeds_demo",
    "tests",
}
# Folders that tools leave behind; git knows them from .gitignore, this list serves where there is no git.
LEFT_BEHIND = re.compile(r"\.git|\.venv|\..*cache|__pycache__|\.hypothesis|\.bench|dist|build|.*\.egg-info")

CLOCK_READS = {
    "datetime.date.today",
    "datetime.datetime.now",
    "datetime.datetime.today",
    "datetime.datetime.utcnow",
    "sqlalchemy.func.now",
    "time.localtime",
    "time.time",
    "time.time_ns",
}
# Written in pieces, so that this file does not contain what it looks for.
MACHINE_PATH = re.compile(rb"(?<![\w.~-])/" + rb"(?:work|tmp|root)" + rb"/")


def repository_files() -> list[Path]:
    """Every file of the repository, relative to its root: kept by git or new; without git, all but left-behinds."""
    command = ["git", "-C", str(ROOT), "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
    try:
        listed = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    except (OSError, subprocess.CalledProcessError):
        found = (path.relative_to(ROOT) for path in ROOT.rglob("*"))
        paths = [path for path in found if not any(LEFT_BEHIND.fullmatch(part) for part in path.parts)]
    else:
        paths = [Path(name) for name in listed.split("\0") if name]
    return sorted(path for path in paths if (ROOT / path).is_file())


FILES = repository_files()
MODULES = [path for path in FILES if path.suffix == ".py" and path.parts[0] in CODE]


def undocumented(module: ast.Module) -> Iterator[str]:
    """The public classes and functions without a docstring, and ``module`` if it has none itself."""
    if not ast.get_docstring(module):
        yield "module"
    yield from _undocumented_in(module, "")


def _undocumented_in(scope: ast.Module | ast.ClassDef, prefix: str) -> Iterator[str]:
    for node in scope.body:
        if not isinstance(node, ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef) or node.name.startswith("_"):
            continue
        if not ast.get_docstring(node) and not _borrows_docstring(node):
            yield prefix + node.name
        if isinstance(node, ast.ClassDef):
            yield from _undocumented_in(node, f"{prefix}{node.name}.")


def _borrows_docstring(node: ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef) -> bool:
    """Whether another definition of the same name, or of the parent class, carries the text."""
    written = {ast.unparse(decorator) for decorator in node.decorator_list}
    return bool(written & {"overload", "override", f"{node.name}.setter"})


def clock_reads(module: ast.Module) -> Iterator[str]:
    """Every mention of a function that reads the machine's clock: called, or only handed on."""
    full_names: dict[str, str] = {}
    for node in ast.walk(module):
        if isinstance(node, ast.Import):
            full_names |= {alias.asname or alias.name.split(".")[0]: _bound_by(alias) for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            full_names |= {alias.asname or alias.name: f"{node.module}.{alias.name}" for alias in node.names}
    for node in ast.walk(module):
        if isinstance(node, ast.Name | ast.Attribute):
            first, _, rest = ast.unparse(node).partition(".")
            name = full_names.get(first, first) + (f".{rest}" if rest else "")
            if name in CLOCK_READS:
                yield f"line {node.lineno}: {name}"


def _bound_by(alias: ast.alias) -> str:
    """What the name stands for that an ``import`` binds: all of ``a.b`` when renamed, otherwise ``a``."""
    return alias.name if alias.asname else alias.name.split(".")[0]


def findings(check: Callable[[ast.Module], Iterator[str]], paths: list[Path]) -> list[str]:
    """What the check finds in the modules, each with the file it stands in."""
    return [
        f"{path}: {finding}"
        for path in paths
        for finding in check(ast.parse((ROOT / path).read_text(encoding="utf-8")))
    ]


def test_every_public_name_has_a_docstring() -> None:
    """A reader learns meaning, units and errors at the definition."""
    assert MODULES
    assert findings(undocumented, MODULES) == []


@pytest.mark.parametrize(
    ("source", "found"),
    [
        pytest.param("", ["module"], id="module"),
        pytest.param("'''M.'''\ndef f(): ...", ["f"], id="function"),
        pytest.param("'''M.'''\nclass C:\n  '''C.'''\n  async def m(self): ...", ["C.m"], id="method"),
        pytest.param("'''M.'''\nclass C:\n  '''C.'''\n  class D: ...", ["C.D"], id="class-in-class"),
        pytest.param("'''M.'''\ndef _f(): ...\nclass _C:\n  def m(self): ...", [], id="private"),
        pytest.param("'''M.'''\nclass C:\n  '''C.'''\n  @p.setter\n  def p(self, v): ...", [], id="setter"),
    ],
)
def test_missing_docstring_is_found(source: str, found: list[str]) -> None:
    """The rule above catches what it is for."""
    assert list(undocumented(ast.parse(source))) == found


def test_only_the_clock_reads_the_clock() -> None:
    """Everywhere else the moment is an argument, so that any day can be asked for."""
    migrations = [path for path in FILES if path.suffix == ".py" and path.parts[0] == "migrations"]
    others = [path for path in MODULES if path != THE_CLOCK] + migrations
    assert findings(clock_reads, others) == []


@pytest.mark.parametrize(
    "source",
    [
        pytest.param("import datetime\ndatetime.date.today()", id="whole-name"),
        pytest.param("import datetime as dt\ndt.datetime.now(dt.UTC)", id="renamed-module"),
        pytest.param("from datetime import date as day\nday.today()", id="renamed-class"),
        pytest.param("from datetime import datetime\nf(default=datetime.utcnow)", id="handed-on"),
        pytest.param("def f():\n  from time import localtime\n  return localtime()", id="inside-function"),
        pytest.param("import time\ntime.time()", id="seconds"),
        pytest.param("from sqlalchemy import func\nf(server_default=func.now())", id="database-clock"),
    ],
)
def test_clock_read_is_found(source: str) -> None:
    """The rule above catches every way of writing it, once each."""
    assert len(list(clock_reads(ast.parse(source)))) == 1


def test_waiting_is_no_clock_read() -> None:
    """A stopwatch and names that only look alike are free."""
    source = "import time\ntime.monotonic()\nclock.now()\nship.today()\nplan.date.today"
    assert list(clock_reads(ast.parse(source))) == []


def test_no_machine_paths() -> None:
    """Nothing in the repository points into the file system of a machine it was made on."""
    assert [str(path) for path in FILES if MACHINE_PATH.search((ROOT / path).read_bytes())] == []


@pytest.mark.parametrize(
    ("text", "found"),
    [
        pytest.param("see /" + "work/notes", True, id="absolute"),
        pytest.param("'/" + "tmp/x.db'", True, id="quoted"),
        pytest.param("paper/" + "work/done", False, id="relative"),
        pytest.param("~/" + "work/register.db", False, id="home"),
    ],
)
def test_machine_path_is_found(text: str, *, found: bool) -> None:
    """The rule above catches absolute paths and leaves relative ones."""
    assert bool(MACHINE_PATH.search(text.encode())) is found


def test_modules_are_short() -> None:
    """A module over 400 lines is two modules."""
    lengths = {str(path): len((ROOT / path).read_text(encoding="utf-8").splitlines()) for path in MODULES}
    assert {path: lines for path, lines in lengths.items() if lines > LONGEST_MODULE} == {}


def test_top_level_is_as_agreed() -> None:
    """The first thing a reader sees is short, and complete."""
    assert {path.parts[0] for path in FILES if not path.parts[0].startswith(".")} == TOP_LEVEL
