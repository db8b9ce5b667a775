"""Records of every kind, as hypothesis draws them."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from hypothesis import strategies as st

from weftglass.evidence import FEATURES, KINDS
from weftglass.records import (
    BASES,
    COUNTED,
    EXHIBITS,
    FACES,
    OUTCOMES,
    PIECE_FIELDS,
    ROLES,
    SPOT_KINDS,
    STANDINGS,
    STATES,
    CataloguePage,
    Change,
    Community,
    Examination,
    Exhibit,
    Finding,
    Inquiry,
    KnownHeight,
    MeasuredProfile,
    MeasurementRecord,
    Offer,
    OwnForm,
    OwnTerm,
    Photo,
    Piece,
    Place,
    PublishedHolding,
    Record,
    ScaleBar,
    SightingRecord,
    Spot,
    Valuation,
    View,
    WeaveStudy,
)

texts = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=40)
finite = st.floats(-1e6, 1e6, allow_nan=False)
moments = st.datetimes(datetime(1990, 1, 1), datetime(2200, 1, 1), timezones=st.just(UTC))
ids = st.from_regex(r"[a-z0-9]{1,12}", fullmatch=True)
hashes = st.from_regex(r"[0-9a-f]{64}", fullmatch=True)
points = st.tuples(finite, finite)
ranges = st.lists(points, max_size=3).map(tuple)
standing: dict[str, Any] = {
    "version": st.integers(1, 10**6),
    "created_at": moments,
    "changed_at": moments,
    "withdrawn": st.booleans(),
}

profiles = st.builds(
    MeasuredProfile,
    points=st.lists(points, max_size=5).map(tuple),
    sd_mm=st.lists(finite, max_size=5).map(tuple),
    scale_sd=finite,
    mm_per_px=finite,
    top_px=points,
    bottom_px=points,
    roll_deg=finite,
    tilt_deg=finite,
    distance_mm=finite,
    height_mm=finite,
    height_sd_mm=finite,
    bulges=ranges,
    warnings=st.lists(texts, max_size=2).map(tuple),
)
pieces = st.builds(Piece, id=ids, **dict.fromkeys(PIECE_FIELDS, texts), **standing)
photos = st.builds(
    Photo,
    id=hashes,
    name=texts,
    format=st.sampled_from(["JPEG", "PNG"]),
    size_bytes=st.integers(1, 10**9),
    width_px=st.integers(1, 10**5),
    height_px=st.integers(1, 10**5),
    focal_35mm=st.none() | finite,
    taken=st.none() | texts,
    warnings=st.lists(texts, max_size=2).map(tuple),
    **standing,
)
views = st.builds(
    View,
    id=ids,
    piece=ids,
    photo=hashes,
    role=st.sampled_from(ROLES),
    caption=texts,
    box=st.none() | st.tuples(finite, finite, finite, finite),
    polygon=st.lists(points, max_size=6).map(tuple),
    polygon_by=st.sampled_from(["", "found", "hand"]),
    scale_bar=st.none() | st.builds(ScaleBar, finite, finite, finite, finite, finite, st.booleans()),
    known_height=st.none() | st.builds(KnownHeight, finite, finite),
    axis=st.none() | st.tuples(points, points),
    bare=ranges,
    left_out=ranges,
    base_unseen=st.booleans(),
    top_unseen=st.booleans(),
    measured=st.none() | profiles,
    trace_warnings=st.lists(texts, max_size=2).map(tuple),
    **standing,
)
measurements = st.builds(
    MeasurementRecord,
    id=ids,
    piece=ids,
    what=st.sampled_from(sorted(KINDS)),
    value=finite,
    sd=finite,
    z_mm=st.none() | finite,
    covered=st.booleans(),
    typed=texts,
    how=texts,
    by=texts,
    remark=texts,
    **standing,
)
sightings = st.builds(
    SightingRecord,
    id=ids,
    piece=ids,
    feature=st.sampled_from(sorted(FEATURES)),
    value=texts,
    sure=finite,
    z_mm=st.none() | points,
    face=st.none() | texts,
    by=texts,
    remark=texts,
    **standing,
)
findings = st.builds(
    Finding,
    id=ids,
    piece=ids,
    form=st.none() | ids,
    conclusion=texts,
    probability=finite,
    unlisted=finite,
    who=texts,
    remark=texts,
    evidence=texts,
    answer=texts,
    engine_version=texts,
    library_version=texts,
    superseded_by=st.none() | ids,
    **standing,
)
forms = st.builds(OwnForm, id=ids, entry=texts, origin=texts, by=texts, **standing)
communities = st.builds(
    Community,
    id=ids,
    name=texts,
    own_name=texts,
    other_names=st.lists(texts, max_size=3).map(tuple),
    language=texts,
    place=texts,
    point=st.none() | points,
    within_km=st.none() | finite,
    years=st.none() | st.tuples(st.integers(1000, 2200), st.integers(1000, 2200)),
    traits=st.lists(st.tuples(texts, texts), max_size=3).map(tuple),
    restricted=texts,
    restricted_designs=st.lists(texts, max_size=3).map(tuple),
    source=texts,
    remark=texts,
    by=texts,
    **standing,
)
published_holdings = st.builds(
    PublishedHolding,
    id=ids,
    name=texts,
    source=texts,
    pieces=st.integers(1, 10**6),
    counts=st.lists(st.tuples(st.sampled_from(sorted(COUNTED)), st.integers(0, 10**6)), max_size=3).map(tuple),
    by=texts,
    **standing,
)
days = st.dates().map(lambda day: day.isoformat())
money = st.floats(0, 1e9, allow_nan=False)
offers = st.builds(
    Offer,
    id=ids,
    piece=ids,
    seller=texts,
    venue=texts,
    seen_on=days,
    amount=st.none() | money,
    currency=texts,
    said=texts,
    outcome=st.sampled_from(OUTCOMES),
    paid=st.none() | money,
    **standing,
)
inquiries = st.builds(
    Inquiry,
    id=ids,
    piece=ids,
    question=texts,
    looks_for=texts,
    z_mm=st.none() | finite,
    asked_on=days,
    answer=texts,
    **standing,
)
valuations = st.builds(
    Valuation,
    id=ids,
    piece=ids,
    basis=st.sampled_from(BASES),
    amount=money,
    currency=texts,
    on=days,
    source=texts,
    remark=texts,
    **standing,
)
spots = st.builds(
    Spot,
    number=st.integers(1, 999),
    kind=st.sampled_from(sorted(SPOT_KINDS)),
    face=st.sampled_from(sorted(FACES)),
    up=st.floats(0, 1),
    across=st.floats(-1, 1),
    size_mm=st.floats(0.1, 2000),
    remark=texts,
    looked_at=st.booleans(),
)
examinations = st.builds(
    Examination,
    id=ids,
    piece=ids,
    on=texts,
    by=texts,
    state=st.sampled_from(sorted(STATES)),
    remark=texts,
    spots=st.lists(spots, max_size=4).map(tuple),
    **standing,
)
places = st.builds(
    Place,
    id=ids,
    name=texts,
    point=st.tuples(finite, finite),
    within_km=finite,
    standing=st.sampled_from(sorted(STANDINGS)),
    looked_on=days,
    source=texts,
    remark=texts,
    **standing,
)
weave_studies = st.builds(
    WeaveStudy,
    id=ids,
    piece=ids,
    view=ids,
    on=texts,
    by=texts,
    how=texts,
    technique=texts,
    rows_per_cm=st.none() | finite,
    rows_sd=st.none() | finite,
    stitches_per_cm=st.none() | finite,
    stitches_sd=st.none() | finite,
    lean=texts,
    box_px=st.lists(finite, max_size=4).map(tuple),
    bar=st.lists(finite, max_size=5).map(tuple),
    taps_px=st.lists(points, max_size=4).map(tuple),
    remark=texts,
    **standing,
)
own_terms = st.builds(
    OwnTerm,
    id=ids,
    term_kind=texts,
    term=texts,
    definition=texts,
    also=st.lists(texts, max_size=3).map(tuple),
    source=texts,
    **standing,
)
catalogue_pages = st.builds(
    CataloguePage,
    id=ids,
    title=texts,
    remark=texts,
    place=st.integers(1, 10**4),
    exhibits=st.lists(
        st.builds(
            Exhibit,
            kind=st.sampled_from(sorted(EXHIBITS)),
            asked=st.lists(st.tuples(texts, texts), max_size=3).map(tuple),
        ),
        max_size=3,
    ).map(tuple),
    **standing,
)
changes = st.builds(
    Change,
    number=st.integers(1, 10**9),
    at=moments,
    who=texts,
    deed=texts,
    kind=texts,
    record=ids,
    piece=ids,
    before=st.none() | texts,
    after=texts,
)
BY_KIND: dict[type[Record], st.SearchStrategy[Any]] = {
    Piece: pieces,
    Photo: photos,
    View: views,
    MeasurementRecord: measurements,
    SightingRecord: sightings,
    Finding: findings,
    OwnForm: forms,
    Community: communities,
    PublishedHolding: published_holdings,
    Offer: offers,
    Inquiry: inquiries,
    Valuation: valuations,
    Place: places,
    Examination: examinations,
    WeaveStudy: weave_studies,
    OwnTerm: own_terms,
    CataloguePage: catalogue_pages,
}
