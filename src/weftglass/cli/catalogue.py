"""`weftglass catalogue` and `weftglass publish`: the pages of the catalogue, and the one file they become."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from weftglass.cli.options import NEW_FILE, OneOf, collection_argument, existing_collection, json_option
from weftglass.cli.printing import print_json, print_table, warn
from weftglass.cli.selecting import pairs, selection_from, selection_options
from weftglass.desk.catalogue import catalogue_pages, put_into_catalogue
from weftglass.desk.holdings import TERMS
from weftglass.desk.holdings_words import how_many
from weftglass.desk.publishing import WITH, exhibit_words, publish_catalogue
from weftglass.errors import InputError
from weftglass.records import EXHIBITS

TERM = OneOf(list(TERMS))


@click.command()
@collection_argument
@click.option("--put", type=OneOf(list(EXHIBITS)), help="Put this on a page, then list the pages.")
@click.option("--piece", help="Id of the piece to put.")
@click.option("--rows", type=TERM, help="Term of the rows of a table.")
@click.option("--columns", type=TERM, help="Term of its columns.")
@click.option("--with", "with_", multiple=True, metavar="TERM=VALUE", help="The combination asked about. Repeatable.")
@selection_options
@click.option("--page", default="", help="Id of the page to put it on; left out: a new page.")
@click.option("--title", default="", help="Title of a new page.")
@click.option("--who", default="command line", show_default=True, help="Who signs the change.")
@json_option
def catalogue(
    collection: Path,
    put: str | None,
    piece: str | None,
    rows: str | None,
    columns: str | None,
    with_: tuple[str, ...],
    whose: str,
    only: tuple[str, ...],
    page: str,
    title: str,
    who: str,
    as_json: bool,
) -> None:
    """
    List the pages of the catalogue of COLLECTION, or put something on one.

    \b
    Examples:
      weftglass catalogue my-pieces
      weftglass catalogue my-pieces --put table --rows community --columns family --title "Who wove on what"
      weftglass catalogue my-pieces --put piece --piece p-017 --page who-wove-on-what
    """
    with existing_collection(collection) as opened:
        if put == "piece" and piece is None:
            raise InputError("catalogue", "--piece", None, "the id of the piece to put on a page")
        if put is not None:
            asked = {"piece": piece or "", "rows": rows or "", "columns": columns or ""}
            asked |= {WITH + term: value for term, value in pairs(with_, "--with").items()}
            asked |= {} if put == "piece" else dict(selection_from(whose, only).asked)
            put_into_catalogue(opened, put, asked, who=who, page=page, title=title)
        pages = catalogue_pages(opened)
        words = [[exhibit_words(opened, one) for one in held.exhibits] for held in pages]
    if as_json:
        records = [
            {"page": one.id, "title": one.title, "remark": one.remark, "shows": shows}
            for one, shows in zip(pages, words, strict=True)
        ]
        print_json(records)
    else:
        print_table(
            ["page", "title", "shows"],
            [[one.id, one.title, " | ".join(shows)] for one, shows in zip(pages, words, strict=True)],
        )


@click.command()
@collection_argument
@click.argument("file", type=NEW_FILE)
def publish(collection: Path, file: Path) -> None:
    """
    Write the catalogue of COLLECTION as one HTML FILE with its charts and pictures in it.

    Pieces with restricted designs, prices, sources and where pieces are kept stay out of it; photographs are reduced
    and carry nothing the camera wrote. What a page asked for and the file leaves out is said.
    """
    with existing_collection(collection) as opened:
        made = publish_catalogue(opened, file, date.today())
    warn(made.left_out)
    click.echo(f"{how_many(len(made.catalogue.pages), 'page')} written to {file}.", err=True)
