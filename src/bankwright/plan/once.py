"""Results that several checks share, computed once for each plan and kept on it.

Gives: Kept, once(). A function under @once keeps what it gives by its arguments, which are names or other plain values;
what it raises is raised anew each time.
Limits: the function must give the same for the same plan and arguments.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from functools import wraps
from typing import Concatenate, ParamSpec, Protocol, TypeVar, cast

__all__ = ["Kept", "once"]

P = ParamSpec("P")
T = TypeVar("T")


class Kept(Protocol):
    """Whatever results can be kept on."""

    @property
    def results(self) -> dict[tuple[Hashable, ...], object]:
        """Results by function and arguments; read and filled by once() alone, which knows their types."""


K = TypeVar("K", bound=Kept)


def once(make: Callable[Concatenate[K, P], T]) -> Callable[Concatenate[K, P], T]:
    """Compute at the first call with these arguments, answer from what is kept afterwards."""

    @wraps(make)
    def kept(plan: K, /, *args: P.args, **more: P.kwargs) -> T:
        key: tuple[Hashable, ...] = (make, *args, *sorted(more.items()))
        if key not in plan.results:
            plan.results[key] = make(plan, *args, **more)
        return cast(T, plan.results[key])

    return kept
