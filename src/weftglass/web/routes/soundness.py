"""Soundness: the collection looked over, and findings held against what is known today."""

from __future__ import annotations

from datetime import date, datetime

from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from weftglass.desk import (
    VERDICTS,
    care_list,
    findings_standing,
    get_piece,
    library_of,
    recheck_finding,
    survey_collection,
    title_of,
    verdict_of,
)
from weftglass.web.door import Asked, door
from weftglass.web.pages.lists import csv_text
from weftglass.web.pages.soundness import care_records, recheck_facts, soundness_facts, standing_records
from weftglass.web.rendering import page


def soundness_page(asked: Asked) -> Response:
    """Which findings stand; and, when asked for, the whole collection looked over."""
    survey = survey_collection(asked.collection) if asked.query.get("look") == "over" else None
    standing, pieces = findings_standing(asked.collection), care_list(asked.collection, _today())
    return page(asked.request, "soundness.html", soundness_facts(standing, survey, pieces))


def recheck_page(asked: Asked) -> Response:
    """One finding computed again; nothing is saved."""
    check, library = recheck_finding(asked.collection, asked.path["finding"]), library_of(asked.collection)
    forms = (check.form_then, check.form_now, check.form_with_what_is_known)
    name = get_piece(asked.collection, check.finding.piece).name
    facts = recheck_facts(check, name, [title_of(form, library) for form in forms])
    return page(asked.request, "recheck.html", facts)


def recheck_json(asked: Asked) -> Response:
    """The same in short, for the list."""
    check = recheck_finding(asked.collection, asked.path["finding"])
    state = verdict_of(check)
    return JSONResponse({"verdict": state, "words": VERDICTS[state], "sentences": list(check.sentences)})


def standing_csv(asked: Asked) -> Response:
    """The findings that stand, as a table."""
    text = csv_text(standing_records(findings_standing(asked.collection)))
    return Response(text, media_type="text/csv; charset=utf-8")


def standing_json(asked: Asked) -> Response:
    """The findings that stand, as JSON."""
    return JSONResponse({"findings": standing_records(findings_standing(asked.collection))})


def care_csv(asked: Asked) -> Response:
    """The newest examination of each piece, as a table."""
    text = csv_text(care_records(care_list(asked.collection, _today())))
    return Response(text, media_type="text/csv; charset=utf-8")


def _today() -> date:
    return datetime.now().astimezone().date()


SOUNDNESS_ROUTES = [
    Route("/care.csv", door(care_csv)),
    Route("/soundness", door(soundness_page)),
    Route("/soundness.csv", door(standing_csv)),
    Route("/soundness.json", door(standing_json)),
    Route("/soundness/{finding}.json", door(recheck_json)),
    Route("/soundness/{finding}", door(recheck_page)),
]
