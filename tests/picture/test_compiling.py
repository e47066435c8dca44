"""Compiled files know which others they were compiled with."""

from __future__ import annotations

import ast
from hashlib import sha256
from pathlib import Path
from types import ModuleType

import pytest

from cropmove.picture import compiling, lanes, reading, straight, sums, turning, writing

ENGINE = {module.__name__: module for module in (compiling, lanes, reading, sums, writing)}


@pytest.mark.parametrize("module", [reading, sums, writing, straight, turning])
def test_a_change_in_a_file_shows_in_those_that_are_compiled_with_it(module: ModuleType) -> None:
    # numba looks for changes in the file of a compiled function only, and would keep the old code
    # of those it calls.
    tree = ast.parse(Path(str(module.__file__)).read_text("utf-8"))
    imported = {node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    others = [Path(str(ENGINE[name].__file__)) for name in sorted(ENGINE) if name in imported]
    assert len(others) > 1
    digest = sha256(b"".join(path.read_bytes() for path in others)).hexdigest()[:16]
    assert digest == module.MADE_WITH, f"write {digest!r} as MADE_WITH in {module.__name__}"
