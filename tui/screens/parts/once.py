"""Work that writes: while it runs, the same key pressed again does nothing.

An exclusive worker is of no use here. It cancels the coroutine that waits, while the thread that
writes goes on: what was saved twice would stand in the book twice.
"""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from functools import wraps
from typing import Any, Concatenate, ParamSpec, TypeVar

from textual.dom import DOMNode

from store.errors import NoAnswer
from tui.asking import INSISTED

_Node = TypeVar("_Node", bound=DOMNode)
_Given = ParamSpec("_Given")


def once(
    group: str,
) -> Callable[
    [Callable[Concatenate[_Node, _Given], Coroutine[Any, Any, None]]],
    Callable[Concatenate[_Node, _Given], None],
]:
    """Run a method as work of a group, and pass over calls that come while it runs.

    Where the database does not answer, and nobody waits for it any more, the work ends and says so.

    Parameters
    ----------
    group
        Name of the work; methods of one group do not run beside each other on one node.
    """

    def decorate(
        method: Callable[Concatenate[_Node, _Given], Coroutine[Any, Any, None]],
    ) -> Callable[Concatenate[_Node, _Given], None]:
        name = method.__name__

        @wraps(method)
        def start(node: _Node, /, *args: _Given.args, **kwargs: _Given.kwargs) -> None:
            if not any(
                one.node is node and one.group == group and not one.is_finished
                for one in node.workers
            ):
                node.run_worker(_insisting(node, method(node, *args, **kwargs)), name, group)

        return start

    return decorate


async def _insisting(node: DOMNode, work: Coroutine[Any, Any, None]) -> None:
    """What a key began: a person waits for it, and may give it up."""
    INSISTED.set(True)  # in the context of this work alone
    try:
        await work
    except NoAnswer as trouble:
        tell = getattr(node.app, "tell", None)
        if not callable(tell):
            raise
        tell(trouble)
