"""Addresses of the API under /api/v1/: jobs, changes, revisions, plans, findings, files, quotes."""

# ninja names the request as the first argument of every operation.
# ruff: noqa: ARG001

from __future__ import annotations

import json
from typing import Annotated, Any

from django.core.paginator import Paginator
from django.db.models import F
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from ninja import Query, Router, Status

from slabwright.notes import Mistake, NotesError
from slabwright.office.actions import job_list
from slabwright.office.actions import jobs as actions
from slabwright.office.actions.edits import Edit, EditError, edit_of
from slabwright.office.api import talk
from slabwright.office.api.talk import ApiError, Code, FileName, Number
from slabwright.office.models import Job, Person, Revision, State, Token
from slabwright.office.pages import photos as photo_pages
from slabwright.office.pages import sheet_files
from slabwright.office.pages.jobs import searched

router = Router()
WRONG = {400: talk.Wrong, 401: talk.Wrong, 404: talk.Wrong, 422: talk.Wrong, 429: talk.Wrong}
WRITE = {**WRONG, 403: talk.Wrong}


def _person(request: HttpRequest, *, writes: bool = False) -> Person:
    key: Token = request.auth  # type: ignore[attr-defined]  # put there by the key's check
    if writes and not key.writes:
        raise ApiError("scope", 403)
    return key.person


def _job(code: str) -> Job:
    job = Job.objects.filter(code=code).first()
    if job is None:
        raise ApiError("not-found", 404)
    return job


def _lang(request: HttpRequest) -> str:
    return str(getattr(request, "lang", "en"))


def _mistakes(request: HttpRequest, mistakes: tuple[Mistake, ...]) -> list[dict[str, Any]]:
    keys, lang = ("line", "field", "written", "why", "example"), _lang(request)
    return [{key: getattr(one, key) for key in keys} for one in (m.say(lang) for m in mistakes[:200])]


@router.get("/jobs", response={200: talk.JobList, **WRONG}, url_name="api-jobs", summary="List jobs")
def listed(
    request: HttpRequest,
    q: Annotated[str, Query(max_length=100, description="words of title, customer and state")] = "",
    state: Annotated[State | None, Query(description="only jobs in this state")] = None,
    hidden: Annotated[bool, Query(description="those put away instead")] = False,
    page: Annotated[int, Query(ge=1, le=1_000_000)] = 1,
    limit: Annotated[int, Query(ge=1, le=200, description="jobs of a page")] = 50,
) -> dict[str, Any]:
    """List jobs, those touched last first. A page after the last is the last one."""
    rows = Job.objects.filter(hidden=hidden).order_by("-touched", "-pk")
    if state is not None:
        rows = rows.filter(state=state.value)
    keys: Any = searched(rows, q, _lang(request)) if q.strip() else rows.values_list("pk", flat=True)
    shown = Paginator(keys, limit).get_page(page)
    found = Job.objects.defer("text").in_bulk(list(shown.object_list))
    return {
        "jobs": [found[pk] for pk in shown if pk in found],
        "count": shown.paginator.count,
        "page": shown.number,
        "pages": shown.paginator.num_pages,
    }


@router.post("/jobs", response={201: talk.JobWhole, **WRITE}, url_name="api-jobs", summary="Start a job")
def started(request: HttpRequest, new: talk.NewJob) -> Status[Job]:
    """Start a job from a whole job file (`text`), or from a `title` and a `use`."""
    person = _person(request, writes=True)
    if new.text is not None:
        try:
            text = job_list.text_of_file(new.text.encode())
            return Status(201, actions.bring_in(person=person, text=text))
        except job_list.FileError as error:
            raise ApiError("file", 422) from error
        except NotesError as error:
            raise ApiError("mistakes", 422, mistakes=_mistakes(request, error.mistakes)) from error
    if new.title is None or not new.title.strip():
        raise ApiError("title", 422)
    try:
        job = actions.start(
            person=person, title=new.title.strip(), use=new.use, customer=new.customer.strip()
        )
    except (NotesError, ValueError) as error:
        raise ApiError("title", 422) from error
    return Status(201, job)


@router.get("/jobs/{code}", response={200: talk.JobWhole, **WRONG}, url_name="api-job", summary="One job")
def one(request: HttpRequest, code: Code) -> Job:
    """Return a job with its notes."""
    return _job(code)


@router.post(
    "/jobs/{code}/changes",
    response={200: talk.Saved, 409: talk.Wrong, 503: talk.Wrong, **WRITE},
    url_name="api-changes",
    summary="Change a job",
)
def changed(request: HttpRequest, code: Code, sent: talk.ChangeIn) -> dict[str, int]:
    """Make edits of a job's notes, all or none. 409: others changed the same field; 422: a mistake."""
    person, job = _person(request, writes=True), _job(code)
    try:
        outcome = actions.change(
            person=person, job=job, edits=_edits(sent), base=sent.base, client=sent.client
        )
    except EditError as error:
        raise ApiError("edit", 422, fields=[{"at": "edits", "why": str(error)}]) from error
    except actions.BusyError as error:
        raise ApiError("busy", 503) from error
    if outcome.saved:
        return {"number": outcome.number}
    if outcome.clashes or outcome.gone:
        clashes = [
            {"path": list(c.path), "seen": c.seen, "now": c.now, "wanted": c.wanted} for c in outcome.clashes
        ]
        gone = [list(edit.path) for edit in outcome.gone]
        raise ApiError("clash", 409, number=outcome.number, clashes=clashes, gone=gone)
    raise ApiError("mistakes", 422, number=outcome.number, mistakes=_mistakes(request, outcome.mistakes))


def _edits(sent: talk.ChangeIn) -> list[Edit]:
    """Return the edits as the office's own pages send them. EditError for one that cannot be understood."""
    data = [edit.model_dump(exclude_unset=True) for edit in sent.edits]
    try:
        json.dumps(data, ensure_ascii=False).encode()
    except (UnicodeEncodeError, ValueError, RecursionError) as error:
        raise EditError("a value holds half a letter, or is nested too deep") from error
    return [edit_of(one) for one in data]


@router.get(
    "/jobs/{code}/revisions",
    response={200: list[talk.RevisionOut], **WRONG},
    url_name="api-revisions",
    summary="Kept versions of a job",
)
def revisions(request: HttpRequest, code: Code) -> list[Revision]:
    """List the kept versions of a job's notes, newest first."""
    return list(Revision.objects.filter(job=_job(code)).defer("text", "changes"))


@router.get(
    "/jobs/{code}/revisions/{number}",
    response={200: talk.RevisionWhole, **WRONG},
    url_name="api-revision",
    summary="One kept version",
)
def revision(request: HttpRequest, code: Code, number: Number) -> Revision:
    """Return one kept version with its text."""
    found = Revision.objects.filter(job=_job(code), number=number).first()
    if found is None:
        raise ApiError("not-found", 404)
    return found


def _source(code: str) -> sheet_files.Source:
    """Return what a job's files are made from, as on its page. ApiError where none could be planned yet."""
    source = sheet_files.source_of(_job(code))
    if source is None:
        raise ApiError("no-plan", 409)
    return source


def _file(code: str, name: str, lang: str) -> HttpResponse:
    source = _source(code)
    body = sheet_files.file_of(source, name, lang)
    if not body:
        raise ApiError("not-found", 404)
    answer = HttpResponse(body, content_type=sheet_files.TYPES[name.rpartition(".")[2]])
    answer.headers["X-Revision"] = str(source.revision)
    return answer


@router.get(
    "/jobs/{code}/plan",
    response={200: dict[str, Any], 409: talk.Wrong, **WRONG},
    url_name="api-plan",
    summary="The plan",
)
def plan(request: HttpRequest, code: Code) -> HttpResponse:
    """Return plan.json of the newest notes that can be planned; header X-Revision says which."""
    return _file(code, "plan.json", _lang(request))


@router.get(
    "/jobs/{code}/findings",
    response={200: talk.Findings, **WRONG},
    url_name="api-findings",
    summary="What to judge",
)
def findings(request: HttpRequest, code: Code) -> dict[str, Any]:
    """Return what the newest notes' plan wants judged, in the request's language, or their mistakes."""
    job = _job(code)
    here, found = actions.plan_of(job), []
    for finding in here.findings:
        assert here.notes is not None
        text = finding.text(system=here.notes.units, lang=_lang(request))
        found.append(
            {
                "code": finding.code,
                "level": finding.level.value,
                "where": finding.where,
                "line": finding.line,
                "what": text.what,
                "why": text.why,
                "do": text.do,
            }
        )
    return {
        "number": job.number,
        "plans": here.plan is not None,
        "problem": here.problem,
        "findings": found,
        "mistakes": _mistakes(request, here.mistakes),
    }


@router.get(
    "/jobs/{code}/files",
    response={200: list[str], 409: talk.Wrong, **WRONG},
    url_name="api-files",
    summary="Names of a job's files",
)
def files(request: HttpRequest, code: Code) -> list[str]:
    """List the files of a job: packet, drawings and tables."""
    listed_here = sheet_files.listed(sheet_files.plan_for_paper(_source(code)), _lang(request))
    names = ["packet.pdf", "plan.json", "tables.xlsx"]
    names += [f"{key}.{kind}" for key, _ in listed_here["drawings"] for kind in ("svg", "dxf")]
    return names + [f"{key}.csv" for key, _ in listed_here["tables"]]


@router.get(
    "/jobs/{code}/files/{name}",
    response={200: None, 409: talk.Wrong, **WRONG},
    url_name="api-file",
    summary="One file of a job",
)
def file(request: HttpRequest, code: Code, name: FileName) -> HttpResponse:
    """Return one file, byte for byte as the office hands it out; header X-Revision says of which notes."""
    return _file(code, name, _lang(request))


@router.get(
    "/jobs/{code}/quotes",
    response={200: list[talk.QuoteOut], 403: talk.Wrong, **WRONG},
    url_name="api-quotes",
    summary="Quotes, for the owner",
)
def quotes(request: HttpRequest, code: Code) -> list[dict[str, Any]]:
    """List the quotes of a job. Only a key of the owner sees money."""
    if not _person(request).is_owner:
        raise ApiError("owner", 403)
    rows = _job(code).quotes.order_by("pk")
    keys = ("number", "revision", "state", "total", "currency", "ends")
    return [{**row, "total": str(row["total"])} for row in rows.values(*keys)]


@router.get(
    "/jobs/{code}/records",
    response={200: talk.Records, **WRONG},
    url_name="api-records",
    summary="What was done",
)
def records(request: HttpRequest, code: Code) -> dict[str, Any]:
    """Return what the crew wrote down of a job: days, and what became of its orders."""
    job = _job(code)
    return {"days": job.days.order_by("day", "pk"), "loads": job.loads.order_by("day", "pk")}


@router.get(
    "/jobs/{code}/photos",
    response={200: list[talk.PhotoOut], **WRONG},
    url_name="api-photos",
    summary="A job's photos",
)
def photos(request: HttpRequest, code: Code) -> list[dict[str, Any]]:
    """List a job's photos, the oldest first."""
    rows = _job(code).photos.order_by("when", "pk")
    return [dict(row) for row in rows.annotate(number=F("pk")).values("number", "words", "when")]


@router.get(
    "/jobs/{code}/photos/{number}",
    response={200: None, **WRONG},
    url_name="api-photo",
    summary="One photo",
)
def photo(request: HttpRequest, code: Code, number: Number) -> HttpResponseBase:
    """Return one photo as it is kept, without place and device."""
    if not _job(code).photos.filter(pk=number).exists():
        raise ApiError("not-found", 404)
    return photo_pages.show(request, number)
