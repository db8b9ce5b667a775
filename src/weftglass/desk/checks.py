"""Looking a collection over for anything odd, and copying it to a safe place."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from weftglass.cabinet import Reader
from weftglass.cabinet.mapping import BY_KIND, MAPPERS
from weftglass.cabinet.photo_files import file_name, sha256_of
from weftglass.cabinet.place import network_kind
from weftglass.desk.collection import Collection
from weftglass.errors import InputError
from weftglass.records import Finding, Photo, Piece


@dataclass(frozen=True)
class Oddity:
    """
    Something odd in a collection.

    Parameters
    ----------
    serious : bool
        True where something is lost, damaged or contradicts itself; false where it is only unusual.
    sentence : str
        What it is, for the owner.
    """

    serious: bool
    sentence: str


@dataclass(frozen=True)
class Survey:
    """
    What a look over a collection took in, and what it found.

    Parameters
    ----------
    records : mapping
        How many records were read, by what several are called, withdrawn ones too.
    changes : int
        How many entries of the history were compared with the records.
    oddities : tuple of Oddity
        Empty where all is well.
    """

    records: Mapping[str, int]
    changes: int
    oddities: tuple[Oddity, ...]


def survey_collection(collection: Collection) -> Survey:
    """Look everything over, as `check_collection`, and say what was looked at."""
    found = [Oddity(True, sentence) for sentence in collection.cabinet.faults()]
    found += _place(collection)
    with collection.cabinet.reading() as reader:
        found += _photographs(collection, reader)
        found += _records(reader)
        found += _findings(reader)
        found += _history(reader)
        counts = {mapper.record.PLURAL: len(reader.ids_of(mapper.record)) for mapper in MAPPERS}
        changes = len(reader.history())
    return Survey(counts, changes, tuple(found))


def check_collection(collection: Collection) -> tuple[Oddity, ...]:
    """
    Look everything over: the database, each photograph's hash, each record, the history, the place it lies.

    Returns
    -------
    tuple of Oddity
        Empty where all is well. Nothing is changed.
    """
    return survey_collection(collection).oddities


def back_up(collection: Collection, target: str | Path) -> None:
    """
    Copy the collection into a new or empty folder while it is in use; the copy is a collection itself.

    Raises
    ------
    CabinetError
        If the target is not empty or cannot be written.
    """
    collection.cabinet.back_up(Path(target))


def _place(collection: Collection) -> Iterator[Oddity]:
    kind = network_kind(collection.path)
    if kind is not None:
        yield Oddity(
            False,
            f"The collection lies on a network folder ({kind}), where its database can be damaged when two programs "
            "use it: keep it on this computer's own disk and back it up to the network.",
        )


def _photographs(collection: Collection, reader: Reader) -> Iterator[Oddity]:
    files = collection.cabinet.photos
    photos = reader.all_of(Photo, withdrawn=True)
    for photo in photos:
        place = files.path_of(photo)
        if not place.is_file():
            yield Oddity(True, f"The file of photograph {photo.name} is missing: photos/{place.name}.")
        elif sha256_of(place) != photo.sha256:
            yield Oddity(True, f"The file of photograph {photo.name} is not what was handed in: photos/{place.name}.")
    for stray in files.stray({file_name(photo) for photo in photos}):
        yield Oddity(False, f"photos/{stray.name} belongs to no photograph of the collection.")


def _records(reader: Reader) -> Iterator[Oddity]:
    for mapper in MAPPERS:
        if mapper.record is Photo:
            continue
        for record_id in reader.ids_of(mapper.record):
            try:
                record = reader.get(mapper.record, record_id)
                record.check(f"{record.KIND} {record.id}")
            except InputError as fault:
                yield Oddity(True, str(fault).removesuffix(" Nothing was changed."))


def _findings(reader: Reader) -> Iterator[Oddity]:
    pieces = {piece.id: piece for piece in reader.all_of(Piece, withdrawn=True)}
    standing = Counter((f.piece, f.subject) for f in reader.all_of(Finding) if f.superseded_by is None)
    for (piece, subject), count in standing.items():
        if count > 1:
            yield Oddity(True, f"{count} findings of {pieces[piece].name} ({subject}) stand at once; only one can.")


def _history(reader: Reader) -> Iterator[Oddity]:
    last = {(change.kind, change.record): change for change in reader.history()}
    for (kind, record_id), change in last.items():
        if kind not in BY_KIND:
            yield Oddity(True, f"The history names a kind of record that does not exist: {kind}.")
            continue
        mapper = BY_KIND[kind]
        try:
            same = reader.find(mapper.record, record_id) == mapper.record_in(change.after)
        except (InputError, ValueError):
            same = False
        if not same:
            yield Oddity(True, f"{kind.capitalize()} {record_id} is not what its history says: edited by hand?")
    for mapper in MAPPERS:
        for record_id in reader.ids_of(mapper.record):
            if (mapper.record.KIND, record_id) not in last:
                yield Oddity(True, f"{mapper.record.KIND.capitalize()} {record_id} has no history.")
