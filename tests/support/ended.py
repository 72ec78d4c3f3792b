"""A command run in this process: the number it ends with."""

import pytest

from bankwright.cli.main import main

__all__ = ["ended"]


def ended(args: list[str]) -> int:
    """Exit code of a command."""
    with pytest.raises(SystemExit) as end:
        main(args)
    return int(end.value.code or 0)
