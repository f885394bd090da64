"""The finite elements know no part of a block by name: parts come in as data."""

import ast
import re
from pathlib import Path

import pytest

import fea

PARTS = re.compile(r"\b(barrel|outer wall|liner|ties?|inserts?)\b")
FILES = sorted(Path(fea.__file__).parent.rglob("*.py"))


def words(source):
    """String constants of a source that are no docstring."""
    tree = ast.parse(source)
    said = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    return [
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in said
    ]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_no_part_is_named(path):
    named = [word for word in words(path.read_text(encoding="utf-8")) if PARTS.search(word)]
    assert named == []


def test_a_name_in_code_is_seen_and_one_in_a_docstring_is_not():
    source = '"""Of a tie."""\nNAMES = {"insert": f"underside of {0} insert"}\n"""The liner."""\n'
    assert words(source) == ["insert", "underside of ", " insert"]
