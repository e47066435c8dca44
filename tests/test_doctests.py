"""Every example in a docstring gives what it says it gives."""

import doctest
from importlib import import_module
from pkgutil import walk_packages

import numpy as np
import pytest

import cropmove

MODULES = [
    "cropmove",
    *sorted(
        module.name
        for module in walk_packages(cropmove.__path__, "cropmove.")
        if not module.name.endswith("__main__")
    ),
]


@pytest.mark.parametrize("name", MODULES)
def test_examples_hold(name: str) -> None:
    module = import_module(name)
    with np.printoptions(legacy=False):  # a library that tests use sets another way of printing
        failures, _ = doctest.testmod(module, optionflags=doctest.NORMALIZE_WHITESPACE)
    assert failures == 0


def test_every_example_is_run() -> None:
    finder = doctest.DocTestFinder()
    for name in MODULES:
        for test in finder.find(import_module(name)):
            assert not any(doctest.SKIP in example.options for example in test.examples), test.name


def test_there_are_examples() -> None:
    finder = doctest.DocTestFinder()
    examples = sum(
        len(test.examples) for name in MODULES for test in finder.find(import_module(name))
    )
    assert examples > 60
