"""May these modules be joined?

The package can be called, so that `bankwright.match(bank, readings)` and `bankwright.match.verdicts` both hold: it is
match() of match/face.
"""

import sys
from types import ModuleType
from typing import Any


class _Callable(ModuleType):
    """A package that is also its chief function."""

    def __call__(self, *args: Any, **options: Any) -> Any:
        """Answer as match/face does."""
        from bankwright.match.face import match

        return match(*args, **options)


sys.modules[__name__].__class__ = _Callable
