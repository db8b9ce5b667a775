"""Options that several commands share."""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path

import click

from weftglass.cabinet.cabinet import FILE_NAME
from weftglass.desk import Collection, open_collection
from weftglass.errors import InputError, Unfit, UnusableFile, shortened
from weftglass.files import read_file
from weftglass.photos import Photograph, read_photograph
from weftglass.vessels import FormLibrary

A_PICTURE = "a photograph: JPEG, PNG, TIFF, WebP or HEIC"
UNITS = {"MM": "mm", "DEG": "degrees", "HPA": "hPa", "C": "°C", "PCT": "per cent"}  # by what stands for the number
SQLITE_HEAD = b"SQLite format 3\0"
A_COLLECTION = "the folder of a collection, as `weftglass serve` or `weftglass demo` makes one"


class FileName(click.ParamType[Path]):
    """The name of a file or folder; whether it can be used is said by whoever opens it, in one sentence."""

    name = "path"

    def convert(self, value: str | Path, param: click.Parameter | None, ctx: click.Context | None) -> Path:
        """The path as it was typed."""
        return Path(value)


class NewFileName(FileName):
    """The name of a file to write: anything but a folder, in a folder that is there or can be made."""

    def convert(self, value: str | Path, param: click.Parameter | None, ctx: click.Context | None) -> Path:
        """The path as it was typed; refused before anything is computed."""
        place = Path(value)
        if place.is_dir():
            raise UnusableFile(str(place), "file", "that is a folder", "the name of a file to write")
        return place


class Number(click.ParamType[float]):
    """A finite number, above a bound where there is one; its unit is told by what stands for it in the help."""

    name = "number"

    def __init__(self, above: float | None = None) -> None:
        self.above = above

    def convert(self, value: str | float, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """The number as it was typed."""
        bound = "" if self.above is None else f" above {self.above:g}"
        try:
            number = float(value)
        except ValueError:
            number = math.nan
        if not math.isfinite(number) or (self.above is not None and number <= self.above):
            unit = UNITS.get(str(param.metavar)) if param is not None else None
            told = bound if unit is None else f"{bound}, in {unit}"
            self.fail(f"is {shortened(value)}; it should be a number{told}", param, ctx)
        return number


class WholeNumber(click.ParamType[int]):
    """A whole number between two others, both allowed."""

    name = "whole number"

    def __init__(self, low: int, high: int | None = None) -> None:
        self.low, self.high = low, high

    def convert(self, value: str | int, param: click.Parameter | None, ctx: click.Context | None) -> int:
        """The number as it was typed."""
        reach = f"from {self.low} on" if self.high is None else f"from {self.low} to {self.high}"
        try:
            number = int(value)
        except ValueError:
            self.fail(f"is {shortened(value)}; it should be a whole number {reach}", param, ctx)
        if number < self.low or (self.high is not None and number > self.high):
            self.fail(f"is {number}; it should be a whole number {reach}", param, ctx)
        return number


class OneOf(click.Choice[str]):
    """One of some words."""

    def get_invalid_choice_message(self, value: object, ctx: click.Context | None) -> str:
        """What was typed, and the words."""
        return f"is {shortened(value)}; it should be one of: {', '.join(map(str, self.choices))}"


FILE, NEW_FILE = FileName(), NewFileName()
NUMBER, ABOVE_0 = Number(), Number(above=0.0)

json_option = click.option(
    "--json", "as_json", is_flag=True, help="Print one JSON document to standard output and nothing else."
)
forms_option = click.option(
    "--forms",
    type=FILE,
    help="Form file (JSON Lines) to use instead of the starter library.",
)
collection_argument = click.argument("collection", type=FILE)


def library_from(forms: Path | None) -> FormLibrary:
    """The library of a form file, or the starter library."""
    return FormLibrary.starter() if forms is None else FormLibrary.read(forms)


def existing_collection(folder: Path) -> Collection:
    """The collection of a folder that must already be one: looking something over makes nothing new."""
    if not folder.exists():
        raise UnusableFile(str(folder), "folder", "there is no such folder", A_COLLECTION)
    refuse_other_things(folder)
    place = folder / FILE_NAME
    if not place.is_file() or place.stat().st_size == 0:
        wrong = f"there is no {FILE_NAME} in it" if not place.is_file() else f"its {FILE_NAME} is empty"
        raise UnusableFile(str(folder), "folder", wrong, A_COLLECTION)
    return open_collection(folder, create=False)


def refuse_other_things(folder: Path) -> None:
    """Refuse a file, and a folder whose database is no database; one that is not there yet may become a collection."""
    if folder.exists() and not folder.is_dir():
        raise UnusableFile(str(folder), "folder", "that is a file", A_COLLECTION)
    place = folder / FILE_NAME
    if not place.is_file():
        return
    with place.open("rb") as file:
        head = file.read(len(SQLITE_HEAD))
    if head not in (b"", SQLITE_HEAD):
        raise UnusableFile(str(folder), "folder", f"its {FILE_NAME} is no database", A_COLLECTION)


def read_picture(photo: Path) -> Photograph:
    """The photograph in a file a person named."""
    return read_photograph(read_file(photo, A_PICTURE), photo.name)


def numbers(text: str, count: int, option: str, expected: str) -> tuple[float, ...]:
    """The numbers of a comma-separated option."""
    try:
        values = tuple(float(part) for part in text.split(","))
    except ValueError:
        raise InputError("command line", option, text, expected) from None
    if len(values) != count or not all(map(math.isfinite, values)):
        raise InputError("command line", option, text, expected)
    return values


def both_or_neither(where: str, options: Mapping[str, object]) -> None:
    """Refuse one of two options without the other."""
    left_out = [name for name, value in options.items() if value is None]
    if len(left_out) == 1:
        (other,) = options.keys() - set(left_out)
        raise InputError(where, left_out[0], None, f"given beside {other}, or both left out")


def just_one(where: str, options: Mapping[str, object]) -> None:
    """Refuse none, or more than one, of options of which one says it."""
    given = [name for name, value in options.items() if value is not None]
    first, *others = options
    if not given:
        raise InputError(where, first, None, f"given, or {' or '.join(others)} instead")
    if len(given) > 1:
        raise Unfit(where, given[0], f"{' and '.join(given)} are given together", "one of them")
