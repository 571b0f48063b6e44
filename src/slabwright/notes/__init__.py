"""The job file: what was written down on site.

Read: `read_notes(path)` or `parse_notes(text)`; the mistakes of an unusable file come as `NotesError`.
Fill in what was not written: `specify(notes)`. Write back: `update`, `write_new`, `new_job`.
The published schema: `job_schema()`.
"""

from slabwright.notes.defaults import specify
from slabwright.notes.mistakes import Mistake, NotesError
from slabwright.notes.models import Notes, line_of
from slabwright.notes.reader import parse_notes, read_notes
from slabwright.notes.spec import SlabSpec

__all__ = [
    "Mistake",
    "Notes",
    "NotesError",
    "SlabSpec",
    "line_of",
    "parse_notes",
    "read_notes",
    "specify",
]
