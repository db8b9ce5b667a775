"""What is wrong is said in one sentence that reads as one: what somebody typed is shown, anything else is a clause."""

from __future__ import annotations

import ast
import pickle
from collections.abc import Iterator
from pathlib import Path

import pytest

import weftglass
from weftglass.errors import InputError, Unfit, UnusableFile

SOURCE = Path(weftglass.__file__).parent


def own_words(value: ast.expr) -> str:
    """The letters that stand in the program itself in a value it shows as if somebody had typed it."""
    parts = value.values if isinstance(value, ast.JoinedStr) else [value]
    texts = [part.value for part in parts if isinstance(part, ast.Constant) and isinstance(part.value, str)]
    return "".join(letter for letter in "".join(texts) if letter.isalpha())


def shown_values(module: Path) -> Iterator[tuple[int, str]]:
    """Line and own words of each value that an `InputError` of a module shows."""
    for function in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
        if not isinstance(function, ast.FunctionDef):
            continue
        held = {
            target.id: node.value
            for node in ast.walk(function)
            if isinstance(node, ast.Assign)
            for target in node.targets
            if isinstance(target, ast.Name)
        }
        for node in ast.walk(function):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "InputError":
                value = node.args[2]
                yield node.lineno, own_words(held.get(value.id, value) if isinstance(value, ast.Name) else value)


def test_what_an_error_shows_in_quotes_is_never_a_phrase_of_ours() -> None:
    """'points is "2.8 pixels apart"' is no sentence; `Unfit` says such a thing in a clause."""
    modules = sorted(SOURCE.rglob("*.py"))
    phrases = [
        (str(module.relative_to(SOURCE)), line, words)
        for module in modules
        for line, words in shown_values(module)
        if words
    ]
    assert len(modules) > 300
    assert phrases == []


@pytest.mark.parametrize(
    ("fault", "sentence"),
    [
        (
            Unfit("bar", "points", "the two points are 2.8 pixels apart", "two points at least 8 pixels apart"),
            "bar: the two points are 2.8 pixels apart; what is needed is two points at least 8 pixels apart.",
        ),
        (
            UnusableFile("a.jpg", "file", "there is no such file", "a photograph"),
            "a.jpg: there is no such file; it should be a photograph.",
        ),
        (
            InputError("bar", "length", -5, "a number above 0, in mm"),
            "bar: length is -5; it should be a number above 0, in mm.",
        ),
    ],
)
def test_the_sentence_is_whole_and_comes_back_from_a_worker(fault: InputError, sentence: str) -> None:
    assert str(fault) == f"{sentence} Nothing was changed."
    again = pickle.loads(pickle.dumps(fault))
    assert (type(again), str(again), again.field) == (type(fault), str(fault), fault.field)
