"""Invented profiles, sections and forms that keep every condition."""

from __future__ import annotations

import numpy as np
from hypothesis import strategies as st

from weftglass.vessels import Form, Letters, Profile, Section, Tolerance

mm = st.floats(1e-6, 400.0)  # no width so small that a factor or a coarser step leaves none
words = st.text(st.characters(codec="utf-8", exclude_categories=("C", "Z")), min_size=1, max_size=20)


@st.composite
def profiles(draw: st.DrawFn) -> Profile:
    """2 to 30 rows; steps of 0.1 to 60 mm."""
    n = draw(st.integers(2, 30))
    steps = draw(st.lists(st.floats(0.1, 60.0), min_size=n - 1, max_size=n - 1))
    widths = draw(st.lists(mm, min_size=n, max_size=n))
    if max(widths) <= 0:
        widths[0] = 10.0
    return Profile.of(np.column_stack([np.concatenate([[0.0], np.cumsum(steps)]), widths]))


@st.composite
def sections(draw: st.DrawFn) -> Section:
    """Every kind; with and without a corner and a round neck."""
    kind = draw(st.sampled_from(["round", "square", "rectangle", "oval", "flask", "polygon"]))
    sides = draw(st.integers(3, 24)) if kind == "polygon" else None
    corner = draw(st.none() | st.floats(0.0, 1.0)) if kind in ("square", "rectangle", "flask") else None
    blend = draw(st.none() | st.tuples(st.floats(1.0, 20.0), st.floats(21.0, 60.0)))
    return Section(kind, sides, corner, None if kind == "round" else blend)


@st.composite
def forms(draw: st.DrawFn) -> Form:
    """Forms with and without everything that is optional."""
    section, profile = draw(sections()), draw(profiles())
    needs_side = section.kind == "polygon" and (section.sides or 4) % 4 != 0
    side = None
    if section.kind != "round" and (needs_side or draw(st.booleans())):
        side = Profile.of(profile.points * [1.0, draw(st.floats(0.2, 1.5))])
    low = draw(st.floats(1.0, 5000.0))
    year = draw(st.integers(1600, 2000))
    return Form(
        id=draw(words),
        name=draw(words),
        section=section,
        profile=profile,
        size=draw(st.none() | words),
        side_profile=side,
        tolerance=Tolerance(draw(st.floats(0, 0.3)), draw(st.floats(0, 0.3)), draw(st.floats(0.02, 100))),
        finish=tuple(draw(st.lists(words, max_size=3))),
        colours=tuple(draw(st.lists(words, max_size=3))),
        letters=tuple(Letters(text, None, (1.0, 2.0)) for text in draw(st.lists(words, max_size=2))),
        weight_g=draw(st.none() | st.just((low, 2 * low))),
        capacity_ml=draw(st.none() | st.floats(1.0, 60_000.0)),
        years=draw(st.none() | st.just((year, year + 30))),
        commonness=draw(st.floats(0.01, 100.0)),
        source=draw(st.none() | words),
        family=draw(st.none() | words),
        push_up_mm=draw(st.none() | st.floats(0.0, 60.0)),
    )
