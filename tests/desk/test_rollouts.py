"""The rollout of a piece and the letters behind its covering, through the desk."""

from __future__ import annotations

import io
import json
import re
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.photos.test_behind import SHOT as CLOSE
from tests.photos.test_behind import openwork
from tests.photos.test_rollout import POT, SHOT, round_pictures
from weftglass.cli.main import run
from weftglass.desk import (
    Collection,
    add_turns,
    add_view,
    create_piece,
    get_view,
    import_photos,
    keep_rollout,
    kept_letters,
    kept_rollout,
    open_collection,
    outlines,
    put_letters_together,
    readable_views,
    rework_view,
    rollable_views,
    save_outline,
    search_inscriptions,
)
from weftglass.desk.rolling import RolloutChoice, checked_choice
from weftglass.errors import InputError
from weftglass.photos import Silhouette
from weftglass.vessels import Form, FormLibrary


@cache
def seen_through(turn_deg: float) -> bytes:
    """A photograph of openwork turned so far."""
    return png(openwork(turn_deg))


def png(pixels: np.ndarray) -> bytes:
    out = io.BytesIO()
    Image.fromarray(pixels).save(out, "PNG")
    return out.getvalue()


@cache
def round_files() -> list[tuple[str, bytes]]:
    return [(f"turn-{k + 1:02d}.png", png(picture)) for k, picture in enumerate(round_pictures())]


@pytest.fixture(scope="module")
def rolled(tmp_path_factory: pytest.TempPathFactory) -> Collection:
    """A pot whose round was taken in; the tracing of so small a picture is not what is tried, its true outline is."""
    collection = open_collection(tmp_path_factory.mktemp("rolled") / "shelf")
    create_piece(collection, "Pot", who="Ada")
    true = Silhouette(SHOT.silhouette(POT)[::4], np.ones(SHOT.size[::-1], dtype=bool), 1.0)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(outlines, "trace_outline", lambda photo, box: true)
        add_turns(collection, "pot", round_files(), who="Ada", height_mm=120)
    return collection


def test_turns_are_taken_in_traced_and_scaled(rolled: Collection) -> None:
    views = rollable_views(rolled, "pot").views
    assert [one.view.role for one in views] == [f"turn {k:02d}/08" for k in range(1, 9)]
    assert all(one.view.measured is not None and abs(one.view.measured.height_mm - 120) < 1 for one in views)


def test_a_rollout_is_kept_with_its_design_until_a_view_changes(rolled: Collection) -> None:
    assert kept_rollout(rolled, "pot") is None
    kept = keep_rollout(rolled, "pot", RolloutChoice(heights_mm=(8, 112), stitches_per_cm=3.0))
    again = kept_rollout(rolled, "pot")
    assert again == kept
    # The painted pot stands on a sharp edge, as no covering does: taken for a soft heel, it costs 3 % of the width.
    assert kept.geometry["girth_mm"] == pytest.approx(2 * np.pi * 45, rel=0.04)
    figured = [band for band in kept.design["bands"] if band["figured"]]
    assert [band["repeats"] for band in figured] == [5]
    assert figured[0]["width_mm"] == pytest.approx(2 * np.pi * 44.5 / 5, rel=0.04)
    assert figured[0]["width_stitches"] == pytest.approx(0.3 * figured[0]["width_mm"], rel=0.01)
    assert "5 repeats" in " ".join(kept.words)
    for place in kept.pictures.values():
        with Image.open(place) as picture:
            assert picture.info["dpi"][0] == pytest.approx(25.4 * kept.geometry["px_per_mm"], rel=1e-2)
    first = rollable_views(rolled, "pot").views[0].view
    rework_view(rolled, first.id, {"scale": {"kind": "height", "mm": 121.5}}, who="Ada")
    assert kept_rollout(rolled, "pot") is None


def test_what_cannot_be_rolled_out_is_said(tmp_path: Path) -> None:
    with open_collection(tmp_path / "shelf") as collection:
        create_piece(collection, "Bare", who="Ada")
        assert "front view" in rollable_views(collection, "bare").missing
        with pytest.raises(InputError, match="none of its views can be rolled out"):
            keep_rollout(collection, "bare", RolloutChoice())
        with pytest.raises(InputError, match="photographs"):
            add_turns(collection, "bare", round_files()[:3], who="Ada", height_mm=120)
        with pytest.raises(InputError, match="height"):
            add_turns(collection, "bare", round_files(), who="Ada")


@pytest.mark.parametrize(
    ("entry", "field"),
    [
        ({"section": "oval"}, "section"),
        ({"depth_share": 0}, "depth_share"),
        ({"stitches_per_cm": -1}, "stitches_per_cm"),
    ],
)
def test_a_choice_that_cannot_be_names_its_field(entry: dict[str, object], field: str) -> None:
    with pytest.raises(InputError) as fault:
        checked_choice(entry)
    assert fault.value.field == field


def seen_light(picture: Path) -> float:
    """Mean lightness, 0 to 255, of what was seen through a covering; what was not is an even grey."""
    with Image.open(picture) as opened:
        pixels = np.asarray(opened.convert("RGB"), dtype=float)
    return float(pixels[~(pixels == 168).all(axis=2)].mean())


def test_letters_are_put_together_from_views_and_kept(tmp_path: Path) -> None:
    with open_collection(tmp_path / "shelf") as collection:
        create_piece(collection, "Openwork", who="Ada")
        files = [("front.png", seen_through(0.0)), ("aside.png", seen_through(17.0))]
        photos = import_photos(collection, files, who="Ada")
        outline = CLOSE.silhouette(np.array([[0.0, 46.0], [120.0, 46.0]]))[::4].tolist()
        for photo, role in zip(photos, ("front", "turn 02/24"), strict=True):
            view = add_view(collection, "openwork", photo.id, role, who="Ada")
            save_outline(collection, view.id, outline, who="Ada")
            rework_view(collection, view.id, {"scale": {"kind": "height", "mm": 120}}, who="Ada")
        ids = [one.view.id for one in readable_views(collection, "openwork")]
        kept = put_letters_together(collection, "openwork", ids, face="front", heights_mm=(40, 80), cover_mm=5)
        assert kept.share_all > kept.share_one + 0.1
        assert kept_letters(collection, kept.key) == kept
        with Image.open(kept.picture) as picture, Image.open(kept.clearer) as clearer:
            assert picture.size == clearer.size
        assert kept_letters(collection, "letters-../../x") is None
        with pytest.raises(InputError, match="75 degrees"):
            put_letters_together(collection, "openwork", ids, face="back", heights_mm=(40, 80), cover_mm=5)
        assert get_view(collection, ids[0]).view.role == "front"
        told = {"face": "front", "heights_mm": (40.0, 80.0), "cover_mm": 5.0}
        olive = put_letters_together(collection, "openwork", ids, glass="#242912", **told)
        assert olive.share_all == pytest.approx(kept.share_all, abs=0.06)
        pale = put_letters_together(collection, "openwork", ids, glass="light", **told)
        assert seen_light(pale.picture) > 2 * seen_light(kept.picture)  # the strands, not the glass
        for glass, said in (("bare", "bare glass marked"), ("greenish", "a colour #rrggbb")):
            with pytest.raises(InputError, match=said):
                put_letters_together(collection, "openwork", ids, glass=glass, **told)


def test_a_view_turned_nobody_knows_how_far_is_found_and_one_command_does_it_all(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two photographs of a collection's piece, the second's turn not told, put together by `weftglass behind`."""
    with open_collection(tmp_path / "shelf") as collection:
        create_piece(collection, "Openwork", who="Ada")
        files = [("front.png", seen_through(0.0)), ("aside.png", seen_through(17.0))]
        photos = import_photos(collection, files, who="Ada")
        outline = CLOSE.silhouette(np.array([[0.0, 46.0], [120.0, 46.0]]))[::4].tolist()
        for photo, role in zip(photos, ("front", "turned"), strict=True):
            view = add_view(collection, "openwork", photo.id, role, who="Ada")
            save_outline(collection, view.id, outline, who="Ada")
            rework_view(collection, view.id, {"scale": {"kind": "height", "mm": 120}}, who="Ada")
    words = ["behind", "--collection", str(tmp_path / "shelf"), "--piece", "openwork", "--heights", "40,80"]
    assert run([*words, "--cover", "5", "--out", str(tmp_path / "l.png"), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["share_all"] > told["share_one"] + 0.05
    assert re.search(r"turned: turned 1[67]\.\d degrees$", told["photographs"][1])
    with Image.open(tmp_path / "l-clearer.png") as clearer:
        assert clearer.size[1] == pytest.approx(160, abs=2)
    assert run([*words, "--out", str(tmp_path / "l.jpg")]) == 2
    assert "ends in .png" in capsys.readouterr().err


def lettered(name: str, text: str, z: tuple[float, float]) -> Form:
    record = {"id": name, "name": name, "section": {"kind": "round"}, "profile": [[0, 40], [200, 40]],
              "letters": [{"text": text, "face": "front", "z": list(z)}]}  # fmt: skip
    return Form.from_record(record, "test")


def test_inscriptions_are_found_by_part_of_them_one_letter_wrong_and_by_place() -> None:
    library = FormLibrary(
        [
            lettered("a", "HARLOW & TINE", (60, 80)),
            lettered("b", "HARROW", (140, 160)),
            lettered("c", "QUORLE", (60, 80)),
        ]
    )
    found = search_inscriptions(library, "HAR?OW", z_mm=(62, 75))
    assert [(one.form, one.wrong_letters, one.place) for one in found] == [("a", 0, "there"), ("b", 0, "elsewhere")]
    assert [one.form for one in search_inscriptions(library, "HERLOW")] == ["a"]
    assert search_inscriptions(library, "ZZZ?Z") == ()
    with pytest.raises(InputError, match="reading"):
        search_inscriptions(library, "?*")
