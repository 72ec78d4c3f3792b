"""The build backend: hatchling, which also asks for Sphinx where a wheel is built, because a wheel carries the manual.

An editable installation and a source distribution need no Sphinx and stay quick.
"""

import tomllib
from pathlib import Path
from typing import Any

from hatchling.build import *  # noqa: F403  the whole interface of a backend
from hatchling.build import get_requires_for_build_wheel as _hatchling_needs

_ROOT = Path(__file__).parents[1]


def get_requires_for_build_wheel(config_settings: dict[str, Any] | None = None) -> list[str]:
    """What hatchling needs, and what the manual is made with."""
    project = tomllib.loads((_ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    return [*_hatchling_needs(config_settings), *project["optional-dependencies"]["docs"]]
