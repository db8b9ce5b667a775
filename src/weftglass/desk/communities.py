"""Communities of makers and published holdings: entering, changing, withdrawing, and the pieces that belong to each."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from weftglass.desk.collection import Collection
from weftglass.desk.wording import signature, slug
from weftglass.errors import InputError
from weftglass.records import COUNTED, LONG, SHORT, Community, Piece, PublishedHolding, SightingRecord, words
from weftglass.weave.traits import TRAIT_WORDS

COMMUNITY_FIELDS: dict[str, str] = {
    "name": "name",
    "own_name": "name the community uses for itself",
    "other_names": "other names and spellings",
    "language": "language",
    "place": "place",
    "point": "point on the map",
    "within_km": "how far the place may be from that point",
    "years": "years in which it is known to have covered vessels",
    "traits": "what its work shows",
    "restricted": "restricted knowledge",
    "restricted_designs": "designs kept out of anything published",
    "source": "where this is known from",
    "remark": "notes",
}
"""Fields a person fills in, each with its label; all are text, empty where not known."""

GUESS = re.compile(r"\?|\b(perhaps|probably|possibly|attributed to|attributed|maybe)\b", re.IGNORECASE)


@dataclass(frozen=True)
class CommunityRow:
    """
    A community in the list.

    Parameters
    ----------
    community : Community
    documented : tuple of Piece
        Pieces whose entry names it without a doubt; they teach.
    guessed : tuple of Piece
        Pieces whose entry names it with a question mark or "probably"; they teach nothing.
    """

    community: Community
    documented: tuple[Piece, ...]
    guessed: tuple[Piece, ...]


def list_communities(collection: Collection) -> list[CommunityRow]:
    """All communities by name, each with its pieces; a name that only pieces use is listed too, not yet entered."""
    with collection.cabinet.reading() as reader:
        entered, pieces = reader.all_of(Community), reader.all_of(Piece)
    rows = [*entered]
    for piece in pieces:
        name = plain_name(piece.community)
        if name and not any(row.goes_by(name) for row in rows):
            rows.append(Community(id="", name=name))
    made = []
    for row in sorted(rows, key=lambda one: one.name.casefold()):
        mine = [piece for piece in pieces if row.goes_by(plain_name(piece.community))]
        sure = tuple(piece for piece in mine if not is_guess(piece.community))
        made.append(CommunityRow(row, sure, tuple(piece for piece in mine if piece not in sure)))
    return made


def get_community(collection: Collection, community_id: str) -> Community:
    """A community by its id."""
    with collection.cabinet.reading() as reader:
        return reader.get(Community, community_id)


def community_named(collection: Collection, name: str) -> Community | None:
    """The community that goes by a name; None where none was entered."""
    with collection.cabinet.reading() as reader:
        return next((one for one in reader.all_of(Community) if one.goes_by(plain_name(name))), None)


def add_community(collection: Collection, fields: Mapping[str, str], *, who: str) -> Community:
    """
    Enter a community.

    Parameters
    ----------
    fields : mapping
        Of `COMMUNITY_FIELDS`, as typed; ``name`` is needed.

    Raises
    ------
    InputError
        A field that cannot be read, or a name that another community goes by.
    """
    values = read_community(fields)
    with collection.cabinet.writing(signature(who)) as draft:
        _refuse_same_name(draft.all_of(Community), values["name"], "")
        new = Community(id=draft.next_id(Community, slug(values["name"])), by=signature(who), **values)
        replace(new, version=1).check_fields("community")
        return draft.put(new)


def edit_community(
    collection: Collection, community_id: str, fields: Mapping[str, str], *, who: str, version: int | None = None
) -> Community:
    """Change a community's fields; those not given stay. Parameters as `add_community`."""
    with collection.cabinet.writing(signature(who)) as draft:
        record = draft.get(Community, community_id)
        values = read_community({"name": record.name, **fields})
        _refuse_same_name(draft.all_of(Community), values["name"], community_id)
        read = record.version if version is None else version
        given = {name: value for name, value in values.items() if name in fields}
        changed = replace(record, version=read, **given)
        changed.check_fields("community")
        return draft.put(changed)


def withdraw_community(collection: Collection, community_id: str, *, who: str, version: int | None = None) -> Community:
    """Take a community off the list; pieces keep its name, and it can be brought back."""
    return _set_withdrawn(collection, community_id, True, who, version)


def restore_community(collection: Collection, community_id: str, *, who: str, version: int | None = None) -> Community:
    """Bring a withdrawn community back."""
    return _set_withdrawn(collection, community_id, False, who, version)


def add_published_holding(
    collection: Collection, name: str, source: str, pieces: int, counts: Mapping[str, int], *, who: str
) -> PublishedHolding:
    """
    Enter a published holding by its totals.

    Parameters
    ----------
    pieces : int
        Covered pieces in it whose records would say so.
    counts : mapping
        How many of each of `weftglass.records.COUNTED`; leave out what was not counted.
    """
    told = {kind: counts[kind] for kind in COUNTED if kind in counts}
    unknown = next((kind for kind in counts if kind not in COUNTED), None)
    if unknown is not None:
        raise InputError("published holding", "counts", unknown, "one of: " + "; ".join(COUNTED))
    with collection.cabinet.writing(signature(who)) as draft:
        new = PublishedHolding(
            id=draft.next_id(PublishedHolding, slug(name)),
            name=words(name, "published holding", "name", needed=True),
            source=words(source, "published holding", "source", needed=True),
            pieces=pieces,
            counts=tuple(told.items()),
            by=signature(who),
        )
        replace(new, version=1).check_fields("published holding")
        return draft.put(new)


def withdraw_published_holding(collection: Collection, holding_id: str, *, who: str) -> PublishedHolding:
    """Take a published holding out; it can be brought back from the history."""
    with collection.cabinet.writing(signature(who)) as draft:
        return draft.put(replace(draft.get(PublishedHolding, holding_id), withdrawn=True), "withdrawn")


def published_holdings(collection: Collection) -> list[PublishedHolding]:
    """Published holdings entered, oldest first."""
    with collection.cabinet.reading() as reader:
        return reader.all_of(PublishedHolding)


@dataclass(frozen=True)
class Restriction:
    """
    Why a piece stays out of anything published: its design is restricted knowledge of a community.

    Parameters
    ----------
    community, name : str
        Id and name of the community whose page says so.
    why : str
        What the community's page says of it; may be empty.
    """

    community: str
    name: str
    why: str

    @property
    def words(self) -> str:
        """The reason in words that follow "its design is"."""
        return f"restricted knowledge of {self.name}" + (f": {self.why}" if self.why else "")


def restrictions(collection: Collection) -> dict[str, Restriction]:
    """
    Pieces that stay out of anything published, each with the restriction.

    A piece is kept back when its design field or a sighting of its design names a restricted design of its community,
    guessed or documented.
    """
    with collection.cabinet.reading() as reader:
        communities = [one for one in reader.all_of(Community) if one.restricted_designs]
        if not communities:
            return {}
        designs = {piece.id: [piece.design] for piece in reader.all_of(Piece)}
        pieces = {piece.id: piece for piece in reader.all_of(Piece)}
        for sighting in reader.all_of(SightingRecord):
            if sighting.feature == "design" and sighting.piece in designs:
                designs[sighting.piece].append(sighting.value)
    found = {}
    for piece, texts in designs.items():
        for one in communities:
            if one.goes_by(plain_name(pieces[piece].community)) and any(one.keeps_back(text) for text in texts):
                found[piece] = Restriction(one.id, one.name, one.restricted)
    return found


def kept_back(collection: Collection) -> dict[str, str]:
    """Pieces that stay out of anything published, each with the reason in words."""
    return {piece: one.words for piece, one in restrictions(collection).items()}


def is_guess(community: str) -> bool:
    """True when a piece's entry names its community with a doubt."""
    return GUESS.search(community) is not None


def plain_name(community: str) -> str:
    """
    A community's name without the words of doubt.

    Examples
    --------
    >>> plain_name("probably Karrosk?"), is_guess("probably Karrosk?"), is_guess("Karrosk")
    ('Karrosk', True, False)
    """
    return (
        " ".join(GUESS.sub(" ", community).replace("to ", "", 1).split()) if is_guess(community) else community.strip()
    )


def as_typed(community: Community) -> dict[str, str]:
    """A community's fields as a person would type them."""
    point, years, within = community.point, community.years, community.within_km
    return {
        "name": community.name,
        "own_name": community.own_name,
        "other_names": "\n".join(community.other_names),
        "language": community.language,
        "place": community.place,
        "point": "" if point is None else f"{point[0]:g}, {point[1]:g}",
        "within_km": "" if within is None else f"{within:g}",
        "years": "" if years is None else f"{years[0]} to {years[1]}",
        "traits": "\n".join(f"{trait}: {value}" for trait, value in community.traits),
        "restricted": community.restricted,
        "restricted_designs": "\n".join(community.restricted_designs),
        "source": community.source,
        "remark": community.remark,
    }


def read_community(fields: Mapping[str, str]) -> dict[str, Any]:
    """Values of a community from what a person typed; fields not given are empty."""
    for name in fields:
        if name not in COMMUNITY_FIELDS:
            raise InputError("community", name, fields[name], "left out, or one of: " + ", ".join(COMMUNITY_FIELDS))

    def text(name: str, longest: int = SHORT) -> str:
        return words(fields.get(name, ""), "community", name, longest=longest, needed=name == "name")

    def lines(name: str) -> tuple[str, ...]:
        typed = re.split(r"[\n;]", text(name, LONG))
        return tuple(dict.fromkeys(line.strip() for line in typed if line.strip()))

    values: dict[str, Any] = {name: text(name) for name in ("name", "own_name", "language", "place")}
    values |= {name: text(name, LONG) for name in ("restricted", "source", "remark")}
    values |= {name: lines(name) for name in ("other_names", "restricted_designs")}
    values["point"] = _numbers(text("point"), 2, "point", "latitude and longitude in degrees, such as 50.8, -4.5")
    within = _numbers(text("within_km"), 1, "within_km", "a distance in km, such as 25")
    values["within_km"] = None if within is None else within[0]
    years = _numbers(text("years"), 2, "years", "two years, the earlier first, such as 1880 to 1930")
    values["years"] = None if years is None else (int(years[0]), int(years[1]))
    values["traits"] = tuple(_trait(line) for line in lines("traits"))
    return values


def _trait(line: str) -> tuple[str, str]:
    trait, colon, value = (part.strip() for part in line.partition(":"))
    if not colon or not value or trait not in TRAIT_WORDS:
        expected = "a trait and what it shows, such as lean: up to the right; traits are " + ", ".join(TRAIT_WORDS)
        raise InputError("community", "traits", line, expected)
    return trait, value


def _numbers(text: str, count: int, field: str, expected: str) -> tuple[float, ...] | None:
    if not text:
        return None
    found = re.findall(r"(?<![\d.])-?\d+(?:\.\d+)?", text.replace("−", "-").replace("–", " "))
    if len(found) != count:
        raise InputError("community", field, text, expected)
    return tuple(float(number) for number in found)


def _refuse_same_name(others: list[Community], name: str, own_id: str) -> None:
    if any(other.id != own_id and other.goes_by(name) for other in others):
        raise InputError("community", "name", name, "a name that no other community goes by")


def _set_withdrawn(
    collection: Collection, community_id: str, withdrawn: bool, who: str, version: int | None
) -> Community:
    with collection.cabinet.writing(signature(who)) as draft:
        record = draft.get(Community, community_id)
        read = record.version if version is None else version
        deed = "withdrawn" if withdrawn else "brought back"
        return draft.put(replace(record, withdrawn=withdrawn, version=read), deed)
