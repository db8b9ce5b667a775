"""The catalogue as one HTML file that asks for nothing: pages with charts, tables and pictures, made to be printed."""

from __future__ import annotations

import base64
import hashlib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup


@dataclass(frozen=True)
class Table:
    """
    A table as it is printed.

    Parameters
    ----------
    head : tuple of str
    rows : tuple of tuple of str
    numbers : frozenset of int
        Columns set flush right.
    """

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numbers: frozenset[int] = frozenset()


@dataclass(frozen=True)
class Picture:
    """
    A photograph.

    Parameters
    ----------
    jpeg : bytes
        Already small, and without what the camera wrote beside the pixels.
    words : str
        What it shows.
    """

    jpeg: bytes
    words: str

    @property
    def address(self) -> str:
        """The picture itself as an address, so that the file needs no other."""
        return f"data:image/jpeg;base64,{base64.b64encode(self.jpeg).decode('ascii')}"


@dataclass(frozen=True)
class Shown:
    """
    One thing a page shows.

    Parameters
    ----------
    heading : str
    about : str
        Which pieces are counted, in words; may be empty.
    chart : Markup or None
        A drawing as SVG.
    pictures : tuple of Picture
    facts : tuple of (label, text)
    sentences : tuple of str
    table : Table or None
    """

    heading: str
    about: str = ""
    chart: Markup | None = None
    pictures: tuple[Picture, ...] = ()
    facts: tuple[tuple[str, str], ...] = ()
    sentences: tuple[str, ...] = ()
    table: Table | None = None


@dataclass(frozen=True)
class TitledPage:
    """A page: its title, the remark on it, and what it shows."""

    title: str
    remark: str
    shown: tuple[Shown, ...]


@dataclass(frozen=True)
class Catalogue:
    """
    The whole.

    Parameters
    ----------
    name : str
        Of the collection.
    day : str
        On which it was made, in words.
    pages : tuple of TitledPage
    notes : tuple of str
        What a reader must know of it as a whole.
    """

    name: str
    day: str
    pages: tuple[TitledPage, ...]
    notes: tuple[str, ...] = ()


def catalogue_html(catalogue: Catalogue, *, back: str = "") -> bytes:
    """
    The catalogue as one HTML file in UTF-8.

    It carries its style and pictures, holds no script and asks for nothing; every text is escaped.

    Parameters
    ----------
    catalogue : Catalogue
    back : str
        Where a reader of the program's own pages goes back to; empty in a file that is handed out.

    Examples
    --------
    >>> page = TitledPage("Flasks & jars", "", (Shown("One", sentences=("<b>",)),))
    >>> b"Flasks &amp; jars" in catalogue_html(Catalogue("Coast", "25 November 2026", (page,)))
    True
    """
    text = (
        _environment()
        .get_template("catalogue.html")
        .render(catalogue=catalogue, back=back, style=Markup(_style()), policy=content_policy())
    )
    return text.encode("utf-8")


def content_policy() -> str:
    """What a reader's browser may load for the file: its own style and the pictures in it, nothing else."""
    digest = base64.b64encode(hashlib.sha256(_style().encode("utf-8")).digest()).decode("ascii")
    return f"default-src 'none'; img-src data:; style-src 'sha256-{digest}'"


@cache
def _style() -> str:
    """Its own rules, then those of the charts."""
    folder = files("weftglass.publish")
    places = (folder / "templates" / "catalogue.css", folder / "static" / "charts.css")
    return "".join(place.read_text(encoding="utf-8") for place in places)


@cache
def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("weftglass.publish", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
