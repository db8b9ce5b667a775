"""
How fast is an answer over a large library, against general-purpose ways to match contours, in one run?

    python benchmarks/speed.py [--forms 100000] [--answers 5] [--kept 600] [--seed 52025] [--million]

Prints medians and ratios: the whole answer (outline in, explained answer out) against matching contour moments through
OpenCV and against dynamic time warping (compiled) over the same library; the sweep's reading speed against the fastest
read that NumPy does here; the answer over 1,000 forms. With --million: answer and peak memory at 1,000,000 forms.
With --kept: how often the screen leaves the true form behind. One thread; seconds are of this process alone (CPU time),
so that other work on the machine counts little; the peers are timed on a part of the library and scaled up, since each
form costs them the same.
"""

from __future__ import annotations

import argparse
import os
import resource
import time
from collections.abc import Callable

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(name, "1")

import cv2  # noqa: E402 (threads are set before)
import numpy as np  # noqa: E402
from peer_methods import Contours, moments, warping  # noqa: E402
from simulated import any_shape, covered, drawn, individual  # noqa: E402

from weftglass import identify  # noqa: E402
from weftglass.evidence import Evidence  # noqa: E402
from weftglass.inside.bank import STEPS, FormBank  # noqa: E402
from weftglass.inside.brief import Brief  # noqa: E402
from weftglass.inside.posterior import posterior  # noqa: E402
from weftglass.inside.screening import screen  # noqa: E402
from weftglass.inside.weighing import Case  # noqa: E402
from weftglass.vessels import FormLibrary  # noqa: E402

FloatArray = np.ndarray[tuple[int, ...], np.dtype[np.float64]]
DRAWN = 20_000  # vessels drawn one by one; larger libraries stretch these a little, each copy by its own factors
PEER_FORMS = 2_000
GRID = np.linspace(0.0, 1.0, STEPS + 1)


def library(count: int, rng: np.random.Generator) -> tuple[np.ndarray, FloatArray]:
    """Half-widths (count, 193) in float32 and heights of vessels sampled widely, mm."""
    own = min(count, DRAWN)
    table, heights = np.empty((count, STEPS + 1), dtype=np.float32), np.empty(count)
    for i in range(own):
        profile = drawn(any_shape(rng))
        table[i] = np.interp(GRID * profile[-1, 0], profile[:, 0], profile[:, 1])
        heights[i] = profile[-1, 0]
    for first in range(own, count, own):
        part = slice(first, min(first + own, count))
        size = part.stop - part.start
        wave = np.cos(np.pi * GRID[None, :] * rng.integers(1, 4, (size, 1)) + rng.uniform(0, np.pi, (size, 1)))
        factor = rng.uniform(0.85, 1.18, (size, 1)) * (1.0 + 0.04 * wave)
        table[part] = table[:size] * factor.astype(np.float32)
        heights[part] = heights[:size] * rng.uniform(0.85, 1.18, size)
    return table, heights


def median_time(act: Callable[[Evidence], object], cases: list[Evidence]) -> float:
    """Median seconds an act takes over the cases, after one that does not count."""
    act(cases[0])
    taken = []
    for case in cases:
        start = time.process_time()
        act(case)
        taken.append(time.process_time() - start)
    return float(np.median(taken))


def best_time(act: Callable[[], object], repeats: int = 15) -> float:
    """Least seconds of several repeats: what the machine can do when nothing is in the way."""
    taken = []
    for _ in range(repeats):
        start = time.process_time()
        act()
        taken.append(time.process_time() - start)
    return min(taken)


def peak_gb() -> float:
    """Greatest memory of this process so far, GB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024**2


def cases_of(bank: FormBank, answers: int, rng: np.random.Generator) -> list[tuple[int, Evidence]]:
    """Covered pieces of forms of the bank: which form is inside, and the outline."""
    chosen = rng.integers(len(bank), size=answers)
    return [(int(i), covered(individual(bank.forms[i], rng), rng).evidence) for i in chosen]


def retention(bank: FormBank, cases: list[tuple[int, Evidence]]) -> tuple[float, float]:
    """Share of cases whose true form the sweep hands on, and that the closer look ranks among the first 96."""
    swept, ranked = 0, 0
    for truth, evidence in cases:
        found = screen(Case.of(evidence, any_flat=False), bank)
        at = np.flatnonzero(found.index == truth)
        swept += len(at)
        ranked += int(len(at) and int((found.log_likelihood > found.log_likelihood[at[0]]).sum()) < 96)
    return swept / len(cases), ranked / len(cases)


def against_peers(bank: FormBank, evidences: list[Evidence], rng: np.random.Generator) -> list[str]:
    """Whole answers against both peers over the same library."""
    part = rng.choice(len(bank), size=min(PEER_FORMS, len(bank)), replace=False)
    profiles = [np.asarray(bank.forms[i].profile.points) for i in part]
    contours = Contours.of(profiles)
    scale = len(bank) / len(part)

    def seen(evidence: Evidence) -> FloatArray:
        return np.asarray(evidence.outlines[0].points)

    hu, warp = moments(contours, 1), warping(contours, sized=True)
    moment_s = scale * median_time(lambda e: hu(seen(e)), evidences)
    warp_s = scale * median_time(lambda e: warp(seen(e)), evidences)
    screen_s = median_time(lambda e: screen(Case.of(e, any_flat=False), bank), evidences)
    named_s = median_time(lambda e: posterior(e, bank), evidences)
    whole_s = median_time(lambda e: identify(e, bank), evidences)
    lines = [f"over {len(bank)} forms (peers timed on {len(part)} and scaled)"]
    lines += [f"  {name:44s} {1000 * s:10.1f} ms" for name, s in (
        ("contour moments through OpenCV", moment_s),
        ("dynamic time warping, window 12 of 97", warp_s),
        ("screening", screen_s),
        ("probabilities of all forms", named_s),
        ("whole answer, explained, next looks", whole_s),
    )]  # fmt: skip
    lines += [f"  {name} over {other}: {value:.1f}" for name, other, value in (
        ("moments", "screening", moment_s / screen_s),
        ("moments", "whole answer", moment_s / whole_s),
        ("time warping", "screening", warp_s / screen_s),
        ("time warping", "whole answer", warp_s / whole_s),
    )]  # fmt: skip
    return lines


def reading_speed(bank: FormBank) -> str:
    """The sweep's bytes a second against the fastest of three plain reads of the same array."""
    brief = Brief.of(bank)
    wanted = brief.mean + 1.0
    table = brief.table
    flat = table.ravel()
    reads = (lambda: flat.sum(), lambda: flat.max(), lambda: flat @ flat)
    read_s = min(best_time(read) for read in reads)
    sweep_s = best_time(lambda: brief.swept(wanted))
    gb = table.nbytes / 1e9
    return (
        f"sweep of {len(bank)} forms ({table.nbytes / len(bank):.0f} bytes each): {gb / sweep_s:.1f} GB/s, "
        f"fastest plain read {gb / read_s:.1f} GB/s: {read_s / sweep_s:.2f}"
    )


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n\n")[0])
    parser.add_argument("--forms", type=int, default=100_000)
    parser.add_argument("--answers", type=int, default=5)
    parser.add_argument("--kept", type=int, default=0, help="cases for measuring what the screen loses")
    parser.add_argument("--seed", type=int, default=52025)
    parser.add_argument("--million", action="store_true")
    wanted = parser.parse_args()
    cv2.setNumThreads(1)
    rng = np.random.default_rng(wanted.seed)
    bank = FormBank.from_arrays(*library(wanted.forms, rng), height_sd=0.009, width_sd=0.009, shape_sd_mm=0.15)
    start = time.process_time()
    Brief.of(bank)
    print(f"brief of {len(bank)} forms worked out in {time.process_time() - start:.1f} s, once a library", flush=True)
    print(reading_speed(bank), flush=True)
    if wanted.kept:
        swept, ranked = retention(bank, cases_of(bank, wanted.kept, rng))
        print(f"true form handed on by the sweep {swept:.4f}, among the first 96: {ranked:.4f} of {wanted.kept}")
    evidences = [evidence for _, evidence in cases_of(bank, wanted.answers, rng)]
    print("\n".join(against_peers(bank, evidences, rng)), flush=True)
    small = FormLibrary(bank.forms[i] for i in range(1000))
    small_s = median_time(lambda e: identify(e, small), evidences)
    print(f"whole answer over 1,000 forms: {1000 * small_s:.0f} ms", flush=True)
    if wanted.million:
        large = FormBank.from_arrays(*library(1_000_000, rng), height_sd=0.009, width_sd=0.009, shape_sd_mm=0.15)
        million_s = median_time(lambda e: identify(e, large), evidences[:3])
        print(reading_speed(large))
        print(f"1,000,000 forms: whole answer {1000 * million_s:.0f} ms, peak memory {peak_gb():.2f} GB")


if __name__ == "__main__":
    main()
