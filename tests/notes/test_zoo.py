"""Every bad job file of the zoo is refused with the messages pinned in zoo/messages.txt, in one pass."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from slabwright.notes import NotesError, read_notes

ZOO = Path(__file__).parent / "zoo"
FILES = sorted(ZOO.glob("*.yaml"))


def pinned() -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for line in (ZOO / "messages.txt").read_text(encoding="utf-8").splitlines():
        found.setdefault(line.split(":", 1)[0], []).append(line)
    return found


PINNED = pinned()


def test_the_zoo_is_large_enough_and_every_animal_has_its_message() -> None:
    assert len(FILES) >= 60
    assert {f.name for f in FILES} == set(PINNED)


@pytest.mark.parametrize("file", FILES, ids=lambda f: f.stem)
def test_messages(file: Path) -> None:
    with pytest.raises(NotesError) as caught:
        read_notes(file)
    assert str(caught.value).splitlines() == PINNED[file.name]


@pytest.mark.parametrize("line", [line for lines in PINNED.values() for line in lines])
def test_a_message_is_one_short_line_without_the_library_s_own_words(line: str) -> None:
    assert re.match(r"[\w-]+\.yaml:\d+: ", line)
    assert not re.search(r"pydantic|Input should|valid (string|integer|number)|traceback|ruamel", line, re.I)
    assert len(line) < 330
    assert line[-1] in ".?" or "Write for example" in line
