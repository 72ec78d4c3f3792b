"""Every public formula states the unit of each parameter and of its answer, and where it comes from."""

import importlib
import inspect
import pkgutil
import re

import pytest

import bankwright.physics

pytestmark = pytest.mark.quick

MODULES = [info.name for info in pkgutil.iter_modules(bankwright.physics.__path__)]
UNIT = re.compile(r"\[[^\[\]]+\]$")


def functions():
    for name in MODULES:
        module = importlib.import_module(f"bankwright.physics.{name}")
        for public in module.__all__:
            thing = getattr(module, public)
            if inspect.isfunction(thing):
                yield pytest.param(thing, id=f"{name}.{public}")


def sections(doc):
    """Heading -> lines, after the manner of numpydoc."""
    lines = inspect.cleandoc(doc).splitlines()
    found, current = {}, None
    for line, under in zip(lines, [*lines[1:], ""], strict=True):
        if under and set(under) == {"-"}:
            current = found.setdefault(line.strip(), [])
        elif current is not None and set(line) != {"-"}:
            current.append(line)
    return found


def entries(lines):
    """Name -> text of each parameter; continuation lines are indented."""
    found, name = {}, None
    for line in lines:
        start = re.match(r"(\w+) : (.*)", line)
        if start:
            name = start[1]
            found[name] = start[2]
        elif line.strip() and name:
            found[name] += " " + line.strip()
    return found


@pytest.mark.parametrize("function", list(functions()))
def test_a_formula_names_its_units_and_its_source(function):
    doc = function.__doc__
    assert doc, "no docstring"
    first = inspect.cleandoc(doc).splitlines()[0]
    assert UNIT.search(first), f"the first line must end with the unit of the answer: {first}"
    parts = sections(doc)
    given = entries(parts.get("Parameters", []))
    assert list(given) == list(inspect.signature(function).parameters)
    for name, text in given.items():
        assert UNIT.search(text), f"{name}: must end with a unit in brackets, [-] for none: {text}"
    assert any(line.strip() for line in parts.get("References", [])), "no References"


def test_the_reader_of_docstrings_notices_what_is_missing():
    def silent(a):
        """Something. [V]

        Parameters
        ----------
        a : a length

        """

    with pytest.raises(AssertionError, match="must end with a unit"):
        test_a_formula_names_its_units_and_its_source(silent)
