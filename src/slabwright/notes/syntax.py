"""What YAML's scanner trips over, in words that a crew leader can use."""

from __future__ import annotations

import re

from ruamel.yaml.error import MarkedYAMLError

from slabwright.notes.mistakes import Mistake, NotesError

_NOT_KNOWN = re.compile(r"[:,\[]\s*\?\s*(?:[,}\]#]|$)")  # a ? for a value that is not there yet
_STRING = re.compile(r'"(?:[^"\\]|\\.)*"')

# (what the scanner or parser says, what it means, an example that can be read)
_MEANINGS: tuple[tuple[str, str, str | None], ...] = (
    (
        "mapping values are not allowed",
        "a colon stands where none can: either this line is indented wrongly, the line above lacks its "
        "colon, or a value with ': ' in it wants quotes",
        'title: "Juniper Court 7: side walk"',
    ),
    (
        "could not find expected ':'",
        "a key has no colon after it",
        "width: 3'",
    ),
    ("character '\\t'", "a tab stands where spaces are wanted: indent with spaces only", "width: 3'"),
    (
        "that cannot start any token",
        "a value cannot begin with this character unless it is in quotes",
        'name: "@ the gate"',
    ),
    (
        "found unexpected end of stream",
        "a quote is opened and never closed; a foot or inch mark at the very front of a value opens one",
        "width: 3'",
    ),
    (
        "found '<scalar>'",
        "something stands after a closing quote or outside of the list: quote the whole value one way",
        'name: "Dana\'s walk"',
    ),
    ("got '<stream end>'", "a bracket or brace is opened and never closed", "corners: [P1, P2, P3]"),
    ("expected ',' or", "a comma, a closing bracket or a closing brace is missing", "{from: 8', width: 3'}"),
    (
        "expected <block end>",
        "this line is indented otherwise than its fellows: keys and items of one record begin in one column",
        None,
    ),
    (
        "block sequence entries are not allowed",
        "a list item (-) cannot begin here: put it on a line of its own, in line with the other items",
        "- A-B: 42' 0 1/4",
    ),
    ("sequence entries are not allowed", "a list item (-) cannot begin here", "- A-B: 42' 0 1/4"),
    ("unknown escape character", "a backslash inside double quotes has no meaning here", "name: gate walk"),
    ("expected escape sequence", "a backslash inside double quotes has no meaning here", "name: gate walk"),
    ("expected the node content", "a value is missing between the marks here", "corners: [P1, P2, P3]"),
    ("undefined tag handle", "YAML tags (!) are not used in a job file", "use: walk"),
    ("found unknown directive", "a line that begins with % is not used in a job file", "title: side walk"),
)


_LEFT_OPEN = ("unexpected end", "<stream end>", "could not find expected ':'", "expected ',' or")


def stop(
    name: str,
    line: int | None,
    written: str | None,
    why: str,
    example: str | None,
    *,
    column: int | None = None,
) -> NotesError:
    """Return the error for a file that cannot be read on."""
    return NotesError([Mistake(name, line, column, "", written, why, example)])


def syntax(
    error: MarkedYAMLError, name: str, lines: list[str], long_quote: tuple[int, int] | None
) -> NotesError:
    """Return the error for text that breaks YAML's rules, with the line that shows it.

    `long_quote`: first and last line of the last quoted text that runs over several, the likely cause.
    """
    if long_quote is not None:
        first, last = long_quote
        why = f"a quote is opened here and closed only on line {last}: was a foot or inch mark meant"
        return stop(name, first, lines[first - 1].strip(), why, "width: 3'")
    mark = error.problem_mark or error.context_mark
    line = None if mark is None else mark.line + 1
    column = None if mark is None else mark.column + 1
    said = f"{error.problem or ''} {error.context or ''}"
    # what was left open is best shown where it was opened, not where the reading stopped
    if error.context_mark is not None and any(sign in said for sign in _LEFT_OPEN):
        line, column = error.context_mark.line + 1, error.context_mark.column + 1
    written = lines[line - 1].strip() if line is not None and 0 < line <= len(lines) else None
    if written and _NOT_KNOWN.search(written):
        why = "a ? stands where a value belongs: write what was read, or take the line away until it is"
        return stop(name, line, written, why, "sill: 4' 1 3/8", column=column)
    for key, why, example in _MEANINGS:
        if key in said:
            return stop(name, line, written or None, why, example, column=column)
    return stop(name, line, written or None, "this line breaks the rules of YAML", "width: 3'", column=column)


def control_words(character: str) -> str:
    """Return why a control character cannot stand in a job file."""
    if character == "\0":
        return "the file holds NUL bytes, so it is not plain text: save it as plain text in UTF-8"
    code = f"U+{ord(character):04X}"
    return f"the file holds the control character {code}: delete it, or save as plain text in UTF-8"


def tabs_to_spaces(text: str) -> str:
    """Return JSON text with the tabs between its values as single spaces, other text unchanged.

    JSON may be indented with tabs and YAML may not; one space a tab keeps every column as it is.
    """
    if "\t" not in text or text.lstrip()[:1] not in ("{", "["):
        return text
    out, last = [], 0
    for string in _STRING.finditer(text):
        out += [text[last : string.start()].replace("\t", " "), string.group()]
        last = string.end()
    out.append(text[last:].replace("\t", " "))
    return "".join(out)
