"""The tone's page: recordings are heard, told in words, and kept only when asked."""

from __future__ import annotations

import numpy as np
from starlette.testclient import TestClient

from tests.desk.test_tones import pat
from tests.web.conftest import OURS, posted
from weftglass.desk import Collection, evidence_of, record_measurement
from weftglass.evidence import Evidence, Measurement
from weftglass.inside import identify
from weftglass.tone import Capacity
from weftglass.vessels import FormLibrary
from weftglass.web.pages.tone import candidates_heard, capacity_words

HTML = {"origin": OURS, "accept": "text/html"}
JSON = {"origin": OURS, "accept": "application/json"}


def test_page_warns_of_unknown_contents_before_it_asks_for_a_sound(client: TestClient, piece: str) -> None:
    """Never the lips; a closed vessel stays closed; and a way to send files without a microphone."""
    text = client.get(f"/piece/{piece}/tone").text
    assert "Never put your lips to it" in text
    assert "Never force a stopper" in text
    assert text.index("take care") < text.index('type="file"')


def test_recordings_are_heard_but_not_kept(client: TestClient, collection: Collection, piece: str) -> None:
    """Two recordings give one tone with its uncertainty; the piece's evidence is as before."""
    sent = [("recordings", (name, content)) for name, content in (pat(140.0, 1), pat(140.3, 2))]
    reply = client.post(f"/piece/{piece}/tone", data={"form": "tone", "temperature": "20"}, files=sent, headers=HTML)
    assert reply.status_code == 200
    assert "A tone of 140" in reply.text or "A tone of 139.9" in reply.text
    assert "±" in reply.text
    assert evidence_of(collection, piece).is_empty


def test_script_gets_the_same_words_as_the_page(client: TestClient, piece: str) -> None:
    """The fragment carries the form that keeps the tone; noise carries none."""
    name, content = pat(140.0, 1)
    told = client.post(f"/piece/{piece}/tone", files={"recordings": (name, content)}, headers=JSON).json()
    assert told["sentence"].startswith("A tone of 139.9")
    assert "Keep this tone" in told["html"]


def test_no_recording_and_no_sound_file_are_refused_in_words(client: TestClient, piece: str) -> None:
    """One sentence each: what is missing, what can't be read."""
    nothing = client.post(f"/piece/{piece}/tone", data={"form": "tone"}, headers=HTML)
    assert nothing.status_code == 422
    assert "1 to 40 recordings" in nothing.text
    sent = {"recordings": ("song.txt", b"not a sound at all")}
    wrong = client.post(f"/piece/{piece}/tone", data={"form": "tone"}, files=sent, headers=HTML)
    assert wrong.status_code == 422
    assert "WAV, FLAC, OGG or MP3" in wrong.text


def test_kept_tone_is_evidence_and_moves_the_answer(client: TestClient, collection: Collection, piece: str) -> None:
    """Kept, it is a measurement, and the answer's page says what it did."""
    record_measurement(collection, piece, "height", "292 mm", who="Ada")
    status, where = posted(client, f"/piece/{piece}/tone/keep", form="keep-tone", hz="112.40", sd="1.4", remark="blown")
    assert (status, where) == (303, f"/piece/{piece}/inside")
    assert [(m.what, m.value, m.sd) for m in evidence_of(collection, piece).measurements][-1] == ("tone", 112.4, 1.4)
    assert "After recording the tone, 112.4 Hz" in client.get(where).text
    assert "Kept already: 112.4" in client.get(f"/piece/{piece}/tone").text


def test_candidates_are_compared_with_what_was_heard() -> None:
    """The form that was recorded would sound like it; one far off is said to sound lower or higher."""
    library = FormLibrary.starter()
    answer = identify(Evidence(measurements=(Measurement("height", 300.0, 5.0),)), library)
    own = next(one for one in answer.candidates[0].foretold if one.what == "tone")
    rows = candidates_heard(answer, own.value, 0.01 * own.value)
    assert rows[0].goes == "would sound like this"
    assert candidates_heard(answer, 3 * own.value, 1.0)[0].goes == "would sound lower"
    assert all("\u00a0±\u00a0" in row.tone for row in rows)


def test_capacity_is_told_with_its_interval_or_why_not() -> None:
    """Never a bare number."""
    assert capacity_words(Capacity(None, None, reason="silence")) == "No capacity from it: silence."
    told = capacity_words(Capacity(742.0, 118.0, 570.0, 960.0, "bore and neck by tape"))
    assert "nine cases of ten between 570 and 960 ml" in told
    assert np.all([word in told for word in ("±", "ml", "bore and neck by tape")])


def test_capacity_of_dry_fills_may_be_kept_in_place_of_the_tone(
    client: TestClient, collection: Collection, piece: str
) -> None:
    """Offered only where fills told it; kept, it is a capacity, and no tone stands beside it."""
    sound, filled = pat(132.5, 1), pat(153.0, 2)
    typed = {"form": "tone", "bore": "19.5", "neck": "50", "fill1_ml": "250"}
    sent = [("recordings", sound), ("fill1", filled)]
    told = client.post(f"/piece/{piece}/tone", data=typed, files=sent, headers=HTML).text
    assert "Keep the capacity instead" in told
    plain = client.post(f"/piece/{piece}/tone", data={"form": "tone"}, files=sent[:1], headers=HTML).text
    assert "Keep the capacity instead" not in plain
    keep = posted(client, f"/piece/{piece}/tone/keep", what="capacity", ml="984.0", sd="73", remark="one fill")
    assert keep == (303, f"/piece/{piece}/inside")
    assert [(m.what, m.value, m.sd) for m in evidence_of(collection, piece).measurements] == [("capacity", 984.0, 73.0)]
