"""Threads of their own for one sort of work. A hundred who listen share one, so that those who save never wait behind them."""

import asyncio
import contextvars
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import ParamSpec, TypeVar

FOR_LISTENERS = 1  # more would not answer sooner, since one thread runs at a time, but each slows a save
FOR_WORKING_OUT = 1  # fits of curves: several at once would keep those who save waiting for the processor, and end no sooner

Takes = ParamSpec("Takes")
Gives = TypeVar("Gives")


class Hands:
    """At most so many at once; whoever comes then waits. Threads are made when they are needed."""

    def __init__(self, name: str, most: int) -> None:
        self._threads = ThreadPoolExecutor(most, thread_name_prefix=name)

    async def do(self, work: Callable[Takes, Gives], *args: Takes.args, **kwargs: Takes.kwargs) -> Gives:
        context = contextvars.copy_context()
        return await asyncio.get_running_loop().run_in_executor(self._threads, lambda: context.run(work, *args, **kwargs))

    def close(self) -> None:
        self._threads.shutdown(wait=False)
