"""What gets loaded, seen in fresh interpreters: a static check does not see deferred imports."""

from __future__ import annotations

import ast
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
HEAVY = (
    "sqlalchemy", "pandas", "numpy", "plotext", "alembic", "rapidfuzz", "fpdf", "fontTools", "PIL",
    "dateutil", "holidays", "icalendar", "ortools", "pyvrp", "astral",
)  # fmt: skip
SCREEN = ("textual", "rich", "plotext")
DATABASE = ("sqlalchemy", "alembic", "psycopg")

COMMAND = """
import sys
from tui.commands.main import main
sys.argv = ["pondround", *{words!r}]
try:
    main()
except SystemExit:
    pass
"""
PLACE = """
from argparse import Namespace
from tui.commands.where import is_missing, place_of
is_missing(place_of(Namespace(book=None)))
"""


def loaded(code: str) -> set[str]:
    """The top packages that an interpreter has loaded after running the code."""
    tell = "import sys; print('\\n@', *{name.split('.')[0] for name in sys.modules})"
    done = subprocess.run(
        [sys.executable, "-c", f"{code}\n{tell}"],
        cwd=ROOT, capture_output=True, text=True, encoding="utf-8", check=True,
    )  # fmt: skip
    return set(done.stdout.rpartition("@")[2].split())


@pytest.mark.parametrize(
    ("code", "forbidden"),
    [
        pytest.param("import tui.app, tui.screens.morning.morning", HEAVY, id="first screen"),
        pytest.param(COMMAND.format(words=["--help"]), (*HEAVY, *SCREEN), id="help"),
        pytest.param(COMMAND.format(words=["--version"]), (*HEAVY, *SCREEN), id="version"),
        pytest.param(COMMAND.format(words=["morning", "--x"]), (*HEAVY, *SCREEN), id="refusal"),
        pytest.param(
            COMMAND.format(words=["reckon", "criteria", "--ph", "8", "--temp", "9"]),
            (*HEAVY, *SCREEN),
            id="reckon",
        ),
        pytest.param(PLACE, HEAVY, id="which book"),
        pytest.param("import store.water.ammonia", (*HEAVY, *SCREEN), id="arithmetic"),
        pytest.param("import store.watch.morning", SCREEN, id="watching"),
        pytest.param("import store.exchange.demo.practice", SCREEN, id="exchange"),
    ],
)
def test_what_is_not_loaded(code: str, forbidden: tuple[str, ...]) -> None:
    assert loaded(code) & set(forbidden) == set()


@pytest.mark.parametrize(
    ("code", "package"),
    [
        ("import tui.app", "textual"),
        ("import store.watch.morning", "sqlalchemy"),
        ("def later():\n    import numpy\nlater()", "numpy"),
    ],
)
def test_what_is_loaded_is_seen(code: str, package: str) -> None:
    assert package in loaded(code)


def named(path: Path) -> set[str]:
    """The top packages that a file imports anywhere, inside functions and for types too."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {one.name.split(".")[0] for one in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            found.add(node.module.split(".")[0])
    return found


@pytest.mark.parametrize(
    ("wing", "forbidden"), [("tui", DATABASE), ("store", ("tui", *SCREEN)), ("demo_sites", HEAVY)]
)
def test_no_file_of_a_wing_names_it(wing: str, forbidden: tuple[str, ...]) -> None:
    files = sorted((ROOT / wing).rglob("*.py"))
    assert files
    wrong = {str(path.relative_to(ROOT)): named(path) & set(forbidden) for path in files}
    assert {path: names for path, names in wrong.items() if names} == {}


def test_an_import_inside_a_function_is_named(tmp_path: Path) -> None:
    path = tmp_path / "late.py"
    path.write_text("def later():\n    from sqlalchemy.orm import Session\n    import rich.text\n")
    assert named(path) == {"sqlalchemy", "rich"}


def test_both_wings_carry_the_mark_that_they_are_typed() -> None:
    for wing in ("store", "tui"):
        assert (ROOT / wing / "py.typed").is_file()
    packed = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    assert "py.typed" in packed["tool"]["setuptools"]["package-data"]["*"]
