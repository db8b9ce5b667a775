"""
Tone: predicted against finite elements, found in recordings, and what capacity intervals hold.

    python benchmarks/tone_accuracy.py [--recordings 200] [--silent 50] [--vessels 400] [--seed 20261201]

Prints, for ten vessels of the starter library, the tone of the one-dimensional waveguide and of an axisymmetric
finite-element solution; how often the tone of made-up recordings at 10 dB is found within 0.5 %, and how often one is
claimed where there is none; how often the stated 90 % interval of the capacity holds the truth, without a dry fill and
with one and two. Constants were set on other seeds.
"""

from __future__ import annotations

import argparse
import time

import numpy as np
from air_finite_elements import tone_by_finite_elements
from tone_capacity import read
from tone_recordings import WITHOUT, with_tone, without_tone

from weftglass.tone import find_tone
from weftglass.vessels import FormLibrary
from weftglass.vessels.air import air_tone, form_tones
from weftglass.vessels.interior import interior_of

TEN = (
    "wine-bordeaux-mod", "wine-onion-650ml", "wine-champagne-19c-750ml", "wine-fiasco-2l-2280ml", "soda-torpedo-150ml",
    "med-boston-120ml", "spirit-mini", "jar-utility-1000ml", "demijohn-1gal-3785ml", "damigiana-28l-25000ml",
)  # fmt: skip


def predicted(library: FormLibrary) -> None:
    """Ten vessels, waveguide against finite elements."""
    print(f"{'vessel':28s} {'capacity ml':>11s} {'waveguide':>10s} {'finite el.':>10s} {'difference':>10s}")
    worst = 0.0
    for name in TEN:
        inside = interior_of(library[name])
        ours = air_tone(inside)
        theirs = tone_by_finite_elements(library[name], inside, ours)
        worst = max(worst, abs(ours / theirs - 1))
        print(
            f"{name:28s} {inside.capacity_ml:11.0f} {ours:7.2f} Hz {theirs:7.2f} Hz {100 * (ours / theirs - 1):+8.2f} %"
        )
    print(f"worst difference {100 * worst:.2f} % (wanted: at most 2 %)")
    start = time.perf_counter()
    forms = list(library) * 4
    form_tones(forms)
    print(f"tones of {len(forms)} forms in {time.perf_counter() - start:.2f} s, insides included\n")


def found(recordings: int, seed: int) -> None:
    """Recordings with a tone at 10 dB."""
    rng = np.random.default_rng(seed)
    miss, errors, scores = 0, [], []
    for _ in range(recordings):
        made = with_tone(rng)
        tone = find_tone([made.sound])
        if tone.frequency_hz is None or tone.sd_hz is None or made.tone_hz is None:
            miss += 1
            continue
        errors.append(abs(tone.frequency_hz / made.tone_hz - 1))
        scores.append((tone.frequency_hz - made.tone_hz) / tone.sd_hz)
    near = np.sum(np.array(errors) < 0.005) / recordings
    within = np.mean(np.abs(scores) < 1.96)
    print(f"{recordings} recordings at 10 dB: within 0.5 % {100 * near:.1f} % (wanted: 95 %), no tone found {miss}")
    print(f"  median error {100 * np.median(errors):.3f} %, truth within 1.96 sd {100 * within:.1f} %")


def unclaimed(recordings: int, seed: int) -> None:
    """Recordings without a tone."""
    rng = np.random.default_rng(seed)
    claimed: list[str] = []
    for i in range(recordings):
        kind = WITHOUT[i % len(WITHOUT)]
        tone = find_tone([without_tone(kind, rng).sound])
        if tone.frequency_hz is not None:
            claimed.append(f"{kind} ({tone.frequency_hz:.0f} Hz)")
    told = ", ".join(claimed) or "none"
    print(f"{recordings} recordings without a tone ({', '.join(WITHOUT)}): claimed {len(claimed)}: {told}\n")


def held(library: FormLibrary, vessels: int, seed: int) -> None:
    """Capacity intervals."""
    forms = list(library)
    for fills in (0, 1, 2):
        rng = np.random.default_rng(seed + fills)
        readings = [read(forms[rng.integers(len(forms))], fills, rng) for _ in range(vessels)]
        known = [reading for reading in readings if reading is not None and reading.found.capacity_ml is not None]
        holds = [(r.found.low_ml or 0) <= r.capacity_ml <= (r.found.high_ml or 0) for r in known]
        width = [(r.found.sd_ml or 0) / (r.found.capacity_ml or 1) for r in known]
        error = [(r.found.capacity_ml or 0) / r.capacity_ml - 1 for r in known]
        print(
            f"{fills} fills, {len(known)} vessels: 90 % interval holds the truth {100 * np.mean(holds):.1f} % "
            f"(wanted: 90 %), stated sd {100 * np.median(width):.1f} %, error rms {100 * np.std(error):.1f} %"
        )


def main() -> None:
    """Print all of it."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("--recordings", type=int, default=200)
    parser.add_argument("--silent", type=int, default=50)
    parser.add_argument("--vessels", type=int, default=400)
    parser.add_argument("--seed", type=int, default=20261201)
    wanted = parser.parse_args()
    library = FormLibrary.starter()
    predicted(library)
    found(wanted.recordings, wanted.seed)
    unclaimed(wanted.silent, wanted.seed + 1)
    held(library, wanted.vessels, wanted.seed + 2)


if __name__ == "__main__":
    main()
