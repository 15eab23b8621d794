"""Asking the store from a screen without holding up what is shown."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import Any, ParamSpec, TypeVar

from textual.app import App

Asked = ParamSpec("Asked")
Answer = TypeVar("Answer")


async def ask(
    app: App[Any], question: Callable[Asked, Answer], *args: Asked.args, **kwargs: Asked.kwargs
) -> Answer:
    """The store's answer, asked in a thread; its errors pass through.

    An application that was left meanwhile has nothing left to show it on: what waits for the answer
    ends with it.
    """
    try:
        return await asyncio.to_thread(question, *args, **kwargs)
    finally:
        if not app.is_running:
            raise asyncio.CancelledError
