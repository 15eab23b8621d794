"""Work that writes: while it runs, the same key pressed again does nothing.

An exclusive worker is of no use here. It cancels the coroutine that waits, while the thread that
writes goes on: what was saved twice would stand in the book twice.
"""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from functools import wraps
from typing import Any, Concatenate, ParamSpec, TypeVar

from textual.dom import DOMNode

_Node = TypeVar("_Node", bound=DOMNode)
_Given = ParamSpec("_Given")


def once(
    group: str,
) -> Callable[
    [Callable[Concatenate[_Node, _Given], Coroutine[Any, Any, None]]],
    Callable[Concatenate[_Node, _Given], None],
]:
    """Run a method as work of a group, and pass over calls that come while it runs.

    Parameters
    ----------
    group
        Name of the work; methods of one group do not run beside each other on one node.
    """

    def decorate(
        method: Callable[Concatenate[_Node, _Given], Coroutine[Any, Any, None]],
    ) -> Callable[Concatenate[_Node, _Given], None]:
        @wraps(method)
        def start(node: _Node, /, *args: _Given.args, **kwargs: _Given.kwargs) -> None:
            if not any(
                one.node is node and one.group == group and not one.is_finished
                for one in node.workers
            ):
                node.run_worker(method(node, *args, **kwargs), method.__name__, group)

        return start

    return decorate
