"""Written out and loaded in without loss; or refused, and then nothing is loaded."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.cabinet.conftest import ticking
from tests.desk.conftest import BAR, BOTTLE, picture
from tests.desk.test_forms import line
from weftglass.desk import (
    Collection,
    accept_finding,
    add_forms_from_file,
    add_photos_to_piece,
    check_collection,
    create_piece,
    edit_piece,
    get_piece_dossier,
    list_pieces,
    load_in,
    load_new,
    mark_bare,
    open_collection,
    original_path,
    record_measurement,
    record_sighting,
    save_outline,
    set_scale,
    withdraw_measurement,
    withdraw_piece,
    write_out,
)
from weftglass.desk.exchange import LISTS
from weftglass.errors import CabinetError, InputError, UnusableFile
from weftglass.records import Photo


def live_in(collection: Collection) -> None:
    """Every kind of record, some changed, some withdrawn, a finding superseded."""
    piece = create_piece(
        collection, "Willow bottle", who="Mira", photos=[("front.jpg", picture())], technique="twining"
    )
    view = get_piece_dossier(collection, piece.id).views[0].view
    save_outline(collection, view.id, BOTTLE, who="Mira")
    set_scale(collection, view.id, BAR, who="Mira")
    mark_bare(collection, view.id, [[250, 290]], who="Mira")
    heavy = record_measurement(collection, piece.id, "weight", "1 lb 6 oz", who="Mira", how="balance")
    withdraw_measurement(collection, heavy.id, who="Tove")
    record_measurement(collection, piece.id, "girth", "251 mm", who="Mira", z=50, remark="twice")
    record_sighting(collection, piece.id, "letters", "H?R*", who="Mira", z=(70, 110), face="front")
    accept_finding(collection, piece.id, who="Mira", remark="Ångström, “quoted”\nsecond line")
    record_sighting(collection, piece.id, "finish", "blob", who="Mira")
    accept_finding(collection, piece.id, who="Tove")
    add_forms_from_file(collection, ("own.jsonl", line("tide-1").encode()), who="Mira")
    add_photos_to_piece(collection, piece.id, [("red.png", picture("red", "PNG"))], who="Mira")
    edit_piece(collection, create_piece(collection, "瓶", who="Mira").id, {"notes": "a\u2028b"}, who="Mira")
    withdraw_piece(collection, create_piece(collection, "Lost jar", who="Mira").id, who="Mira")


@pytest.fixture(scope="module")
def made_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a collection that was lived in, and with what was written out of it."""
    folder = tmp_path_factory.mktemp("once")
    with open_collection(folder / "coast", clock=ticking()) as collection:
        live_in(collection)
        write_out(collection, folder / "out")
    return folder


@pytest.fixture
def lived_in(made_once: Path, tmp_path: Path) -> Iterator[Collection]:
    """A copy of the collection."""
    shutil.copytree(made_once / "coast", tmp_path / "coast")
    with open_collection(tmp_path / "coast", create=False) as opened:
        yield opened


@pytest.fixture
def out(made_once: Path, tmp_path: Path) -> Path:
    """A copy of what was written out."""
    return Path(shutil.copytree(made_once / "out", tmp_path / "out"))


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[Collection]:
    """A collection to load into."""
    with open_collection(tmp_path / "other") as opened:
        yield opened


def everything(collection: Collection) -> dict[str, object]:
    """Every record and the whole history."""
    with collection.cabinet.reading() as reader:
        records = {kind.KIND: reader.all_of(kind, withdrawn=True) for kind in LISTS.values()}
        return {**records, "history": reader.history()}


def test_loaded_collection_equals_the_written_one(lived_in: Collection, out: Path, empty: Collection) -> None:
    """Record by record, with versions, times, history, findings and the bytes of the photographs."""
    tally = load_in(empty, out)
    assert everything(empty) == everything(lived_in)
    assert tally.records["piece"] == 3
    assert tally.photographs == 2
    with lived_in.cabinet.reading() as reader:
        for photo in reader.all_of(Photo):
            assert original_path(empty, photo.id).read_bytes() == original_path(lived_in, photo.id).read_bytes()
    assert [row.piece.id for row in list_pieces(empty, "h r blob")] == ["willow-bottle"]
    assert check_collection(empty) == ()


def test_loaded_collection_is_written_the_same_again(out: Path, empty: Collection, tmp_path: Path) -> None:
    """Byte for byte, photographs included; only the manifest has another name in it."""
    load_in(empty, out)
    write_out(empty, tmp_path / "again")
    names = sorted(str(place.relative_to(out)) for place in out.rglob("*") if place.is_file())
    assert names == sorted(
        str(p.relative_to(tmp_path / "again")) for p in (tmp_path / "again").rglob("*") if p.is_file()
    )
    for name in names:
        if name != "collection.json":
            assert (tmp_path / "again" / name).read_bytes() == (out / name).read_bytes(), name


def test_loaded_collection_goes_on_where_the_other_stopped(out: Path, empty: Collection) -> None:
    """Versions and the numbers of changes continue."""
    load_in(empty, out)
    before = len(everything(empty)["history"])  # type: ignore[arg-type]
    edit_piece(empty, "willow-bottle", {"maker": "Oda"}, who="Mira")
    assert len(everything(empty)["history"]) == before + 1  # type: ignore[arg-type]


def test_full_collection_is_not_loaded_into(lived_in: Collection, out: Path) -> None:
    """Two collections are never mixed."""
    before = everything(lived_in)
    with pytest.raises(InputError, match="empty collection"):
        load_in(lived_in, out)
    assert everything(lived_in) == before


def test_folder_that_is_not_empty_is_not_written_to(lived_in: Collection, tmp_path: Path) -> None:
    """Nothing of the owner's is overwritten."""
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "letter").write_text("Dear Oda")
    with pytest.raises(UnusableFile, match="a new or empty folder"):
        write_out(lived_in, tmp_path / "full")
    assert [place.name for place in (tmp_path / "full").iterdir()] == ["letter"]


def test_nothing_is_left_behind_when_an_original_is_missing(lived_in: Collection, tmp_path: Path) -> None:
    """A folder that would be incomplete is not there at all."""
    next((lived_in.path / "photos").iterdir()).unlink()
    with pytest.raises(CabinetError, match="could not be written"):
        write_out(lived_in, tmp_path / "out")
    assert [place.name for place in tmp_path.iterdir()] == ["coast"]


def rewrite(out: Path, name: str, change: Callable[[list[str]], list[str]]) -> None:
    """Change the lines of a file and make the manifest agree, as somebody would who means harm."""
    lines = change((out / name).read_text(encoding="utf-8").split("\n"))
    (out / name).write_text("\n".join(lines), encoding="utf-8")
    manifest = json.loads((out / "collection.json").read_text(encoding="utf-8"))
    manifest["files"][name]["sha256"] = hashlib.sha256((out / name).read_bytes()).hexdigest()
    (out / "collection.json").write_text(json.dumps(manifest), encoding="utf-8")


def swapped(old: str, new: str) -> Callable[[list[str]], list[str]]:
    """Replace text in the first line."""

    def change(lines: list[str]) -> list[str]:
        assert old in lines[0]
        return [lines[0].replace(old, new, 1), *lines[1:]]

    return change


@pytest.mark.parametrize(
    ("name", "change", "said"),
    [
        ("pieces.jsonl", swapped('"willow-bottle"', '"../../evil"'), "id"),
        ("pieces.jsonl", swapped('"version": 1', '"version": 0'), "version"),
        ("pieces.jsonl", swapped('"status": "owned"', '"status": "lost"'), "status"),
        ("pieces.jsonl", swapped('"name": "Willow bottle"', '"name": ""'), "name"),
        ("pieces.jsonl", lambda lines: [lines[0], *lines], "earlier line"),
        ("pieces.jsonl", lambda lines: [lines[0][:-5], *lines[1:]], "JSON"),
        ("pieces.jsonl", lambda _lines: [], "piece"),
        ("photographs.jsonl", swapped('"id": "', '"id": "../'), "id"),
        ("photographs.jsonl", swapped('"format": "JPEG"', '"format": "../x"'), "format"),
        ("photographs.jsonl", swapped('"format": "JPEG"', '"format": "PNG"'), "photos/"),
        ("photographs.jsonl", swapped('"size_bytes": ', '"size_bytes": 1'), "size_bytes"),
        ("views.jsonl", swapped('"role": "front"', '"role": "inside"'), "role"),
        ("views.jsonl", swapped('"piece": "willow-bottle"', '"piece": "none"'), "piece"),
        ("views.jsonl", swapped("[250.0, 290.0]", "[290.0, 250.0]"), "bare"),
        ("measurements.jsonl", swapped('"what": "weight"', '"what": "charm"'), "what"),
        ("measurements.jsonl", swapped('"sd": ', '"sd": -'), "sd"),
        ("sightings.jsonl", swapped('"sure": 0.9', '"sure": 9'), "sure"),
        ("findings.jsonl", swapped('"superseded_by": "', '"superseded_by": "x'), "superseded_by"),
        ("findings.jsonl", swapped('"evidence": "{', '"evidence": "'), "evidence"),
        ("forms.jsonl", swapped('"id": "tide-1"', '"id": "tide-2"'), "tide"),
        ("history.jsonl", swapped('"number": ', '"number": -'), "number"),
        ("history.jsonl", lambda lines: [lines[0], *lines], "number"),
        ("history.jsonl", swapped('"record": "willow-bottle"', '"record": "other"'), "id"),
    ],
)
def test_altered_file_is_refused_and_nothing_loaded(
    out: Path, empty: Collection, name: str, change: Callable[[list[str]], list[str]], said: str
) -> None:
    """Also when the manifest was altered with it: every record is looked at."""
    rewrite(out, name, change)
    with pytest.raises(InputError) as caught:
        load_in(empty, out)
    assert said in f"{caught.value.field} {caught.value.expected}"
    assert all(not records for records in everything(empty).values())
    assert list((empty.path / "photos").iterdir()) == []


def test_list_that_an_older_program_did_not_write_holds_nothing(out: Path, empty: Collection) -> None:
    """A kind of record added later does not lock the older collections out."""
    manifest = json.loads((out / "collection.json").read_text(encoding="utf-8"))
    del manifest["files"]["forms.jsonl"]
    (out / "collection.json").write_text(json.dumps(manifest), encoding="utf-8")
    with pytest.raises(InputError, match="SHA-256"):
        load_in(empty, out)
    (out / "forms.jsonl").unlink()
    rewrite(out, "history.jsonl", lambda lines: [line for line in lines if '"kind": "form"' not in line])
    assert "form" not in load_in(empty, out).records


def test_list_from_a_newer_program_is_refused(out: Path, empty: Collection) -> None:
    """Nothing is left behind unread."""
    manifest = json.loads((out / "collection.json").read_text(encoding="utf-8"))
    manifest["files"]["dreams.jsonl"] = {"sha256": "", "lines": 0}
    (out / "collection.json").write_text(json.dumps(manifest), encoding="utf-8")
    with pytest.raises(InputError, match="newer program"):
        load_in(empty, out)


def test_wrong_hash_is_refused(out: Path, empty: Collection) -> None:
    """Of a list, and of a photograph of the same size."""
    (out / "history.jsonl").write_bytes((out / "history.jsonl").read_bytes() + b"\n")
    with pytest.raises(InputError, match="SHA-256"):
        load_in(empty, out)


def test_damaged_photograph_is_refused(out: Path, empty: Collection) -> None:
    """One bit is enough; the photographs already copied are taken away again."""
    place = sorted((out / "photos").iterdir())[-1]
    content = bytearray(place.read_bytes())
    content[len(content) // 2] ^= 1
    place.write_bytes(content)
    with pytest.raises(InputError, match="SHA-256"):
        load_in(empty, out)
    assert all(not records for records in everything(empty).values())
    assert list((empty.path / "photos").iterdir()) == []


@pytest.mark.parametrize("name", ["collection.json", "pieces.jsonl", "photo", "photos"])
def test_links_are_refused(out: Path, empty: Collection, tmp_path: Path, name: str) -> None:
    """A link could lead anywhere, so none is followed, wherever it stands."""
    place = next((out / "photos").iterdir()) if name == "photo" else out / name
    shutil.move(place, tmp_path / "elsewhere")
    os.symlink(tmp_path / "elsewhere", place)
    with pytest.raises(InputError, match="link"):
        load_in(empty, out)
    assert all(not records for records in everything(empty).values())


@pytest.mark.parametrize(
    ("manifest", "field"),
    [
        ("nonsense", "JSON"),
        ("[]", "format"),
        ('{"format": "cookbook"}', "format"),
        ('{"format": "weftglass collection", "layout": 99}', "layout"),
        ('{"format": "weftglass collection", "layout": 1}', "files"),
        ('{"format": "weftglass collection", "layout": 1, "files": {}}', "SHA-256"),
    ],
)
def test_wrong_manifest_is_refused(out: Path, empty: Collection, manifest: str, field: str) -> None:
    """A folder that is not one of ours, or from a newer program."""
    (out / "collection.json").write_text(manifest)
    with pytest.raises(InputError) as caught:
        load_in(empty, out)
    assert caught.value.field == field


@pytest.mark.parametrize("stands", ["nothing", "empty folder"])
def test_loading_a_wrong_folder_leaves_nothing_behind(out: Path, tmp_path: Path, stands: str) -> None:
    """It says that nothing was changed, and there is no collection, half a one or a folder for one."""
    place = tmp_path / "new"
    if stands == "empty folder":
        place.mkdir()
    (out / "pieces.jsonl").write_bytes(b"")
    before = sorted(tmp_path.rglob("*"))
    for wrong in (tmp_path / "typo", out):
        with pytest.raises(InputError):
            load_new(place, wrong)
        assert sorted(tmp_path.rglob("*")) == before


@pytest.mark.parametrize("stands", ["nothing", "empty folder", "empty collection"])
def test_loading_makes_the_collection_where_there_is_none(
    lived_in: Collection, out: Path, tmp_path: Path, stands: str
) -> None:
    """Complete, and nothing beside it."""
    place = tmp_path / "deep" / "new"
    place.parent.mkdir()
    if stands == "empty folder":
        place.mkdir()
    if stands == "empty collection":
        open_collection(place).close()
    load_new(place, out)
    assert [item.name for item in place.parent.iterdir()] == ["new"]
    with open_collection(place, create=False) as loaded:
        assert everything(loaded) == everything(lived_in)


def test_loading_beside_other_files_is_refused(out: Path, tmp_path: Path) -> None:
    """A folder with something else in it is nobody's collection."""
    (tmp_path / "letters").mkdir()
    (tmp_path / "letters" / "letter").write_text("Dear Oda")
    with pytest.raises(CabinetError, match="holds no collection"):
        load_new(tmp_path / "letters", out)
    assert [place.name for place in (tmp_path / "letters").iterdir()] == ["letter"]


def test_missing_folder_is_refused(empty: Collection, tmp_path: Path) -> None:
    """A mistyped path gives one sentence."""
    with pytest.raises(InputError, match="there is no such folder"):
        load_in(empty, tmp_path / "typo")
