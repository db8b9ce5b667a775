"""A collection written out as JSON Lines with its photographs, and loaded into an empty one, without loss."""

from __future__ import annotations

import hashlib
import json
import os
import secrets
import shutil
import stat
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from weftglass.cabinet import Draft
from weftglass.cabinet.mapping import BY_KIND, MAPPERS
from weftglass.cabinet.photo_files import file_name, sha256_of
from weftglass.desk.collection import Collection, open_collection
from weftglass.errors import CabinetError, InputError, Unfit, UnusableFile
from weftglass.evidence.evidence import parse_json
from weftglass.records import Change, Finding, Photo, Record, from_plain, to_plain

MANIFEST = "collection.json"
FORMAT = "weftglass collection"
LAYOUT = 1
HISTORY = "history.jsonl"
LISTS: dict[str, type[Record]] = {f"{mapper.record.PLURAL}.jsonl": mapper.record for mapper in MAPPERS}
"""Files of records, in the order in which they lean on each other."""

LONGEST_LINE = 64 * 2**20
WRITTEN_OUT = "a folder that `weftglass write-out` wrote"
LARGEST_MANIFEST = 2**20


@dataclass(frozen=True)
class Tally:
    """How much was written out or loaded: records by kind, entries of the history, photograph files."""

    records: Mapping[str, int]
    changes: int
    photographs: int


def write_out(collection: Collection, folder: str | Path) -> Tally:
    """
    Write the whole collection into a new or empty folder: every record, withdrawn ones too, the history, the originals.

    Parameters
    ----------
    folder : str or Path
        Is there complete when this returns, and not at all when it fails.

    Raises
    ------
    CabinetError
        If the disk is full, or an original is missing or damaged.
    UnusableFile
        If the folder is not empty.
    """
    target = Path(folder)
    if target.is_symlink() or (target.exists() and (not target.is_dir() or any(target.iterdir()))):
        raise UnusableFile(str(target), "folder", "it is not empty", "the name of a new or empty folder")
    half_done = target.with_name(f".{target.name}.{secrets.token_hex(4)}")
    try:
        (half_done / "photos").mkdir(parents=True)
        tally = _write_all(collection, half_done)
        if target.exists():
            target.rmdir()
        os.replace(half_done, target)
    except OSError as fault:
        raise CabinetError(f"{target} could not be written: {fault.strerror}.") from fault
    finally:
        shutil.rmtree(half_done, ignore_errors=True)
    return tally


def load_in(collection: Collection, folder: str | Path) -> Tally:
    """
    Load what `write_out` wrote into an empty collection: all of it or nothing, the history as it was.

    Parameters
    ----------
    folder : str or Path

    Raises
    ------
    InputError
        With file, line and field: a file is missing, has another hash than the manifest says, is a link, or holds a
        record that could not have been made here; or the collection is not empty.
    """
    source = Path(folder)
    manifest = _read_manifest(source)
    for name in _lists_in(source, manifest):
        _check_file(source, name, manifest)
    fresh: list[Path] = []
    try:
        with collection.cabinet.writing("load") as draft:
            _refuse_full(draft)
            tally = _load_all(collection, draft, source, manifest, fresh)
    except BaseException:
        for place in fresh:
            place.unlink(missing_ok=True)
        raise
    return tally


def load_new(path: str | Path, folder: str | Path) -> Tally:
    """
    Load what `write_out` wrote into a collection that need not be there yet.

    Parameters
    ----------
    path : str or Path
        Of the collection: an empty one, or an empty folder or none, where the collection then stands complete, or not
        at all when loading fails or the program is killed.
    folder : str or Path
        What was written out.

    Raises
    ------
    InputError
        As `load_in`.
    CabinetError
        If the place of the collection holds something else or cannot be written.
    """
    target = Path(path)
    if target.is_dir() and any(target.iterdir()):
        with open_collection(target, create=False) as there:
            return load_in(there, folder)
    _read_manifest(Path(folder))
    half_done = target.with_name(f".{target.name}.{secrets.token_hex(4)}")
    try:
        with open_collection(half_done) as made:
            tally = load_in(made, folder)
        if target.exists():
            target.rmdir()
        os.replace(half_done, target)
    except OSError as fault:
        raise CabinetError(f"{target} could not be made: {fault.strerror}. Nothing was changed.") from fault
    finally:
        shutil.rmtree(half_done, ignore_errors=True)
    return tally


def _lists_in(folder: Path, manifest: Mapping[str, Any]) -> list[str]:
    """Names of the lists to read; one that an older program did not write yet is neither there nor in the manifest."""
    for name in manifest["files"]:
        if name not in (*LISTS, HISTORY):
            raise InputError(MANIFEST, "files", name, "left out: a newer program wrote it")
    return [name for name in (*LISTS, HISTORY) if name in manifest["files"] or _is_there(folder / name)]


def _is_there(place: Path) -> bool:
    return place.is_symlink() or place.exists()


def _write_all(collection: Collection, folder: Path) -> Tally:
    files: dict[str, dict[str, Any]] = {}
    records: dict[str, int] = {}
    with collection.cabinet.reading() as reader:
        for name, kind in LISTS.items():
            every = reader.all_of(kind, withdrawn=True)
            files[name] = _write_lines(folder / name, every)
            records[kind.KIND] = len(every)
        history = reader.history()
        files[HISTORY] = _write_lines(folder / HISTORY, history)
        photos = reader.all_of(Photo, withdrawn=True)
    for photo in photos:
        copy = folder / "photos" / file_name(photo)
        shutil.copyfile(collection.cabinet.photos.path_of(photo), copy)
        if sha256_of(copy) != photo.sha256:
            raise CabinetError(f"The file of photograph {photo.name} is damaged: its SHA-256 is not {photo.sha256}.")
    manifest = {"format": FORMAT, "layout": LAYOUT, "name": collection.name, "files": files}
    (folder / MANIFEST).write_text(json.dumps(manifest, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")
    return Tally(records, len(history), len(photos))


def _write_lines(place: Path, items: Iterable[object]) -> dict[str, Any]:
    digest, count = hashlib.sha256(), 0
    with place.open("wb") as file:
        for item in items:
            line = (json.dumps(to_plain(item), ensure_ascii=False, allow_nan=False) + "\n").encode()
            file.write(line)
            digest.update(line)
            count += 1
        file.flush()
        os.fsync(file.fileno())
    return {"sha256": digest.hexdigest(), "lines": count}


def _read_manifest(folder: Path) -> Mapping[str, Any]:
    place = _plain_file(folder, MANIFEST)
    if place.stat().st_size > LARGEST_MANIFEST:
        raise InputError(MANIFEST, "size", place.stat().st_size, f"at most {LARGEST_MANIFEST} bytes")
    try:
        text = place.read_text(encoding="utf-8")
    except UnicodeDecodeError as fault:
        raise Unfit(MANIFEST, "text", f"byte {fault.start} is not UTF-8", "UTF-8 text") from None
    manifest = parse_json(text, MANIFEST)
    if not isinstance(manifest, dict) or manifest.get("format") != FORMAT:
        raise InputError(MANIFEST, "format", text[:40], f"the manifest of a {FORMAT}")
    if manifest.get("layout") != LAYOUT:
        raise InputError(MANIFEST, "layout", manifest.get("layout"), f"{LAYOUT}: a newer program wrote another")
    if not isinstance(manifest.get("files"), dict):
        raise InputError(MANIFEST, "files", manifest.get("files"), "an object in braces { }")
    return manifest


def _check_file(folder: Path, name: str, manifest: Mapping[str, Any]) -> None:
    place = _plain_file(folder, name)
    said = manifest["files"].get(name)
    expected = said.get("sha256") if isinstance(said, dict) else None
    found = sha256_of(place)
    if found != expected:
        raise InputError(name, "SHA-256", found, f"{expected}, as {MANIFEST} says: the file was changed or damaged")


def _plain_file(folder: Path, name: str) -> Path:
    """A file of the folder by a name of our own making; links and anything but plain files are refused."""
    if not folder.is_dir():
        wrong = "that is a file" if folder.exists() else "there is no such folder"
        raise UnusableFile(str(folder), "folder", wrong, WRITTEN_OUT)
    place = folder / name
    for part in (place.parent, place) if place.parent != folder else (place,):
        try:
            kind = part.lstat().st_mode
        except OSError:
            raise UnusableFile(str(folder), name, f"no {name} in it can be read", WRITTEN_OUT) from None
        if not (stat.S_ISREG(kind) if part == place else stat.S_ISDIR(kind)):
            raise Unfit(str(folder), name, f"{name} is a link or a special file", "a plain file")
    return place


def _refuse_full(draft: Draft) -> None:
    for kind in LISTS.values():
        if draft.all_of(kind, withdrawn=True):
            raise Unfit("collection", kind.KIND, f"it holds {kind.PLURAL} already", "an empty collection to load into")


def _load_all(
    collection: Collection, draft: Draft, source: Path, manifest: Mapping[str, Any], fresh: list[Path]
) -> Tally:
    records: dict[str, int] = {}
    ids: dict[str, set[str]] = {kind.KIND: set() for kind in LISTS.values()}
    for name, kind in LISTS.items():
        if name not in manifest["files"]:
            continue
        for where, plain in _lines(source, name):
            record = from_plain(kind, plain, where)
            record.check(where)
            _check_links(record, ids, where)
            ids[kind.KIND].add(record.id)
            draft.take_over(record)
            if isinstance(record, Photo):
                _take_file(collection, source, record, where, fresh)
        records[kind.KIND] = len(ids[kind.KIND])
    _check_superseded(draft)
    numbers: set[int] = set()
    for where, plain in _lines(source, HISTORY):
        change = _checked_change(from_plain(Change, plain, where), where, numbers)
        numbers.add(change.number)
        draft.take_over_change(change)
    return Tally(records, len(numbers), len(ids[Photo.KIND]))


def _lines(folder: Path, name: str) -> Iterator[tuple[str, object]]:
    with _plain_file(folder, name).open("rb") as file:
        number = 0
        while raw := file.readline(LONGEST_LINE + 1):
            number += 1
            where = f"{name} line {number}"
            if len(raw) > LONGEST_LINE:
                raise Unfit(where, "line", "the line is too long", f"a line of at most {LONGEST_LINE} bytes")
            try:
                text = raw.decode()
            except UnicodeDecodeError as fault:
                raise Unfit(where, "text", f"byte {fault.start} is not UTF-8", "UTF-8 text") from None
            yield where, parse_json(text, where)


def _check_links(record: Record, ids: Mapping[str, set[str]], where: str) -> None:
    if record.id in ids[record.KIND]:
        raise InputError(where, "id", record.id, "an id of its own: an earlier line has this one")
    for field, kind in record.LINKS.items():
        other = getattr(record, field)
        if other is not None and other not in ids[kind]:
            raise InputError(where, field, other, f"the id of a {kind} in this folder")


def _check_superseded(draft: Draft) -> None:
    findings = {finding.id: finding for finding in draft.all_of(Finding, withdrawn=True)}
    for finding in findings.values():
        later = finding.superseded_by
        if later is not None and (later not in findings or findings[later].piece != finding.piece):
            raise InputError(f"finding {finding.id}", "superseded_by", later, "a later finding of the same piece")


def _take_file(collection: Collection, source: Path, photo: Photo, where: str, fresh: list[Path]) -> None:
    place = _plain_file(source, f"photos/{file_name(photo)}")
    if place.stat().st_size != photo.size_bytes:
        raise InputError(where, "size_bytes", photo.size_bytes, f"{place.stat().st_size}, as the file has")
    content = place.read_bytes()
    found = hashlib.sha256(content).hexdigest()
    if found != photo.sha256:
        raise InputError(where, "SHA-256", found, f"{photo.sha256}: the photograph was changed or damaged")
    own = collection.cabinet.photos.path_of(photo)
    if not own.exists():
        fresh.append(own)
    collection.cabinet.photos.keep(photo, content)


def _checked_change(change: Change, where: str, numbers: set[int]) -> Change:
    if change.kind not in BY_KIND:
        raise InputError(where, "kind", change.kind, "one of: " + ", ".join(BY_KIND))
    if change.number < 1 or change.number in numbers:
        raise InputError(where, "number", change.number, "a number of its own, from 1")
    for name, text in (("before", change.before), ("after", change.after)):
        if text is None:
            continue
        record = from_plain(BY_KIND[change.kind].record, parse_json(text, f"{where} {name}"), f"{where} {name}")
        if record.id != change.record:
            raise InputError(f"{where} {name}", "id", record.id, change.record)
    return change
