"""Addresses of one job's long sheet."""

from __future__ import annotations

from slabwright.office.access import May, way
from slabwright.office.pages import sheet, sheet_change, sheet_files, sheet_history, sheet_notes

WAYS = [
    way("jobs/<code>/", sheet.sheet, "job", may=May.CREW),
    way("jobs/<code>/read/", sheet.read, "job-read", may=May.CREW),
    way("jobs/<code>/since/<int:number>/", sheet.since, "job-since", may=May.CREW),
    way("jobs/<code>/change/", sheet_change.change, "job-change", may=May.CREW, methods="POST"),
    way(
        "jobs/<code>/change-form/", sheet_change.change_form, "job-change-form", may=May.CREW, methods="POST"
    ),
    way("jobs/<code>/notes/", sheet_notes.notes, "job-notes", may=May.CREW, methods="GET POST"),
    way("jobs/<code>/history/", sheet_history.history, "job-history", may=May.CREW),
    way("jobs/<code>/history/<int:number>/", sheet_history.revision, "job-revision", may=May.CREW),
    way("jobs/<code>/undo/<int:number>/", sheet_history.undo, "job-undo", may=May.CREW, methods="POST"),
    way(
        "jobs/<code>/restore/<int:number>/",
        sheet_history.restore,
        "job-restore",
        may=May.CREW,
        methods="POST",
    ),
    way("jobs/<code>/packet.pdf", sheet_files.file, "job-packet", may=May.CREW),
    way("jobs/<code>/files/", sheet_files.files, "job-files", may=May.CREW),
    way("jobs/<code>/files/<name>", sheet_files.file, "job-file", may=May.CREW),
]
