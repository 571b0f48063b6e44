"""The job file: what was written down on site.

Read: `read_notes(path)` or `parse_notes(text)`; the mistakes of an unusable file come as `NotesError`.
Fill in what was not written: `specify(notes)`. Write back: `update`, `write_new`, `new_job`.
The published schema: `job_schema()`.
"""

from slabwright.notes.defaults import specify
from slabwright.notes.mistakes import Mistake, NotesError
from slabwright.notes.models import Notes, line_of
from slabwright.notes.reader import parse_notes, read_notes
from slabwright.notes.schema import job_schema
from slabwright.notes.spec import SlabSpec
from slabwright.notes.writer import Append, Delete, Set, WriteError, new_job, update, write_new

__all__ = [
    "Append",
    "Delete",
    "Mistake",
    "Notes",
    "NotesError",
    "Set",
    "SlabSpec",
    "WriteError",
    "job_schema",
    "line_of",
    "new_job",
    "parse_notes",
    "read_notes",
    "specify",
    "update",
    "write_new",
]
