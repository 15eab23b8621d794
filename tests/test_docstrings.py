"""Every public function of `store` says what its arguments are, and every number says its unit.

Public functions are those at the top of a module without a leading underscore; migrations are
not written by hand and stand outside. Each argument must stand in a Parameters section; one that is
annotated as a float must have its unit in square brackets there, `[-]` for a pure number.
"""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
MODULES = sorted(path for path in (ROOT / "store").rglob("*.py") if "migrations" not in path.parts)


def described(docstring: str) -> dict[str, str]:
    """Argument to description, from the Parameters section of a docstring."""
    section = re.search(r"^Parameters\n-+\n(.*?)(?=^\S[^\n]*\n-{3,}$|\Z)", docstring, re.M | re.S)
    found: dict[str, str] = {}
    names: list[str] = []
    for line in section[1].splitlines() if section else ():
        if line and not line[0].isspace():
            names = [name.strip(" *") for name in line.partition(":")[0].split(",")]
            found.update(dict.fromkeys(names, line.partition(":")[2]))
        else:
            for name in names:
                found[name] += " " + line.strip()
    return found


def faults(source: str) -> list[str]:
    """What the public functions of a module leave unsaid."""
    found = []
    for node in ast.parse(source).body:
        if not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            continue
        if node.name.startswith("_"):
            continue
        docstring = ast.get_docstring(node)
        if not docstring:
            found.append(f"{node.name} has no docstring")
            continue
        told = described(docstring)
        arguments = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
        arguments += [extra for extra in (node.args.vararg, node.args.kwarg) if extra]
        for argument in arguments:
            if argument.arg not in told:
                found.append(f"{node.name} does not describe {argument.arg}")
            elif _is_a_number(argument) and not re.search(r"\[[^\]]+\]", told[argument.arg]):
                found.append(f"{node.name} gives no unit for {argument.arg}")
        found += [
            f"{node.name} describes {name}, which it does not take"
            for name in told.keys() - {argument.arg for argument in arguments}
        ]
    return found


def _is_a_number(argument: ast.arg) -> bool:
    return argument.annotation is not None and bool(
        re.search(r"\bfloat\b", ast.unparse(argument.annotation))
    )


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(ROOT)))
def test_every_argument_is_described_and_every_number_has_a_unit(path: Path) -> None:
    assert faults(path.read_text(encoding="utf-8")) == []


def test_modules_are_found() -> None:
    assert ROOT / "store" / "water" / "ammonia.py" in MODULES


@pytest.mark.parametrize(
    ("source", "fault"),
    [
        ("def f(a_l: float): ...", "f has no docstring"),
        ('def f(a_l: float):\n    """A volume."""', "f does not describe a_l"),
        (
            'def f(a_l: float):\n    """A volume.\n\n    Parameters\n    ----------\n'
            '    a_l\n        A volume.\n\n    Returns\n    -------\n    float\n        It [L].\n    """',
            "f gives no unit for a_l",
        ),
        (
            'def f(a_l: float):\n    """A volume.\n\n    Parameters\n    ----------\n'
            '    a_l, b_l\n        Volumes [L].\n    """',
            "f describes b_l, which it does not take",
        ),
    ],
)
def test_a_fault_is_found(source: str, fault: str) -> None:
    assert faults(source) == [fault]


def test_a_good_docstring_has_no_fault() -> None:
    source = (
        'def f(a_l: float, *, name: str) -> None:\n    """A volume.\n\n    Parameters\n'
        "    ----------\n    a_l\n        A volume,\n        in litres [L].\n    name\n"
        '        What it is.\n    """'
    )
    assert faults(source) == []
