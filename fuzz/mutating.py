"""How files are spoilt: by lines and words where they are text, by members where they are archives."""

from __future__ import annotations

import html
import io
import random
import re
import zipfile
from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fuzz.readers import Reader

_WORD = re.compile(rb"[^\s,:;{}\[\]<>=]+")
HOSTILE: tuple[bytes, ...] = tuple(
    word.encode("utf-8", "surrogatepass")
    for word in (
        *(
            "0",
            "-0",
            "-1",
            "1e308",
            "1e-308",
            "1e999",
            "nan",
            "inf",
            "-inf",
            "9" * 30,
            "9" * 400,
            "0x10",
            "1_000",
        ),
        *(
            "1/0",
            "0/0",
            "1/3",
            "1:0",
            "0:1",
            "12' 13 1/2",
            "4' -3",
            "5'-6\"",
            "3 ft 3 ft",
            "1 mm",
            "1e6 mi",
            "٣",
            "½",
            "Ⅷ",
        ),
        *(
            "~",
            "null",
            "yes",
            "no",
            "{}",
            "[]",
            "[[]]",
            "{a: {b: {c: d}}}",
            "''",
            '""',
            "&a",
            "*a",
            "!x",
            "|",
            ">",
            "%",
            "@",
        ),
        *(
            "?",
            "-",
            "--",
            "...",
            "---",
            "#",
            "`",
            "\\",
            "\t",
            "\r\n",
            "\x00",
            "\ufeff",
            "\u2028",
            "\u202e",
            "\x85",
            "\x1b[2J",
        ),
        *(
            "A-B",
            "P1",
            "P1-P1",
            "A",
            "Q1",
            "24:00",
            "23:59:60",
            "2026-02-30",
            "0001-01-01",
            "9999-12-31",
            "$-5",
            "€1.234,5",
        ),
        *(
            "../../etc/passwd",
            "a" * 300,
            "é" * 90,
            "=1+1",
            "<x>",
            "&amp;",
            "%s",
            "{0}",
            "{title}",
            "$x",
            "null\n",
            "1 in per 0 ft",
        ),
    )
)
Mutator = Callable[[bytes, int, int], bytes]


def mutator(reader: Reader, seeds: tuple[bytes, ...]) -> Mutator:
    """Return what spoils a reader's files: two times of three by their kind, else as the machine sees fit."""
    import atheris

    def spoil(data: bytes, most: int, seed: int) -> bytes:
        dice = random.Random(seed)
        if reader.kind == "notes":
            return _values_changed(data, dice)[:most]
        if dice.random() < 0.35:
            return bytes(atheris.Mutate(data, most))
        if reader.kind == "zip" and zipfile.is_zipfile(io.BytesIO(data)):
            return spoilt_archive(data, dice, most)
        if reader.kind == "bytes":
            return bytes(atheris.Mutate(dice.choice(seeds) if dice.random() < 0.1 else data, most))
        return spoilt_text(data, dice, seeds)[:most]

    return spoil


def spoilt_text(data: bytes, dice: random.Random, seeds: tuple[bytes, ...]) -> bytes:
    """Return a text with a few lines or words changed, taken away, doubled or brought in."""
    lines = data.splitlines(keepends=True) or [b"\n"]
    for _ in range(dice.choice((1, 1, 1, 2, 3))):
        at, other = dice.randrange(len(lines)), dice.randrange(len(lines))
        way = dice.random()
        if way < 0.5:
            lines[at] = _word_changed(lines[at], lines[other], dice)
        elif way < 0.6 and len(lines) > 1:
            del lines[at]
            lines = lines or [b"\n"]
        elif way < 0.7:
            lines.insert(at, lines[other])
        elif way < 0.76:
            lines[at], lines[other] = lines[other], lines[at]
        elif way < 0.84:
            lines[at] = dice.choice((b" ", b"  ", b"\t", b"- ")) + lines[at]
        elif way < 0.9:
            lines[at] = lines[at][dice.choice((1, 2)) :]
        else:
            more = dice.choice(seeds).splitlines(keepends=True) or [b"\n"]
            first = dice.randrange(len(more))
            lines[at:at] = more[first : first + dice.choice((1, 2, 5, 20))]
        lines = lines or [b"\n"]
    return b"".join(lines)


def _word_changed(line: bytes, other: bytes, dice: random.Random) -> bytes:
    words = list(_WORD.finditer(line))
    if not words:
        return line
    word = dice.choice(words)
    strange = [w.group() for w in _WORD.finditer(other)]
    new = dice.choice(strange) if strange and dice.random() < 0.4 else dice.choice(HOSTILE)
    if dice.random() < 0.2:
        new = word.group() + dice.choice((b" ", b"", b"-", b"/")) + new
    return line[: word.start()] + new + line[word.end() :]


# Values that a job can have, most of them unlikely together.
LIKELY: tuple[bytes, ...] = (
    *(
        b"0'",
        b'1/16"',
        b"4'",
        b"4' 1/16",
        b"9' 11 15/16",
        b"40'",
        b"300'",
        b"0.001 m",
        b"1.2 m",
        b"120 m",
        b"-3'",
        b'-1"',
    ),
    *(
        b"P1",
        b"P2",
        b"P3",
        b"Q1",
        b"Q2",
        b"N1",
        b"A",
        b"B",
        b"C",
        b"D",
        b"A-B",
        b"side walk",
        b"sill",
        b"bench",
    ),
    *(
        b"walk",
        b"patio",
        b"driveway",
        b"apron",
        b"pad",
        b"landing",
        b"broom",
        b"exposed",
        b"left",
        b"right",
        b"yes",
        b"no",
    ),
    *(
        b"1:48",
        b"2%",
        b"0%",
        b"12%",
        b"1/4 in per ft",
        b"3000 psi",
        b"90 F",
        b"12 F",
        b"6:00 am",
        b"2026-07-14",
        b"2",
        b"7",
    ),
)
_VALUE = re.compile(rb"(?<=[:\[,] )[^,\]}{\[#\n]+")


def _values_changed(data: bytes, dice: random.Random) -> bytes:
    """Return notes with a few values in place of others, and now and then a line less: most can still be read."""
    for _ in range(dice.choice((1, 1, 2, 3))):
        values = list(_VALUE.finditer(data))
        if not values or dice.random() < 0.1:
            lines = data.splitlines(keepends=True)
            if len(lines) > 1:
                del lines[dice.randrange(len(lines))]
            data = b"".join(lines)
            continue
        one, other = dice.choice(values), dice.choice(values).group().strip()
        new = other if dice.random() < 0.4 else dice.choice(LIKELY)
        data = data[: one.start()] + new + data[one.end() :]
    return data


def spoilt_archive(data: bytes, dice: random.Random, most: int) -> bytes:
    """Return an archive with one member spoilt, renamed, doubled or taken away; anew where it grows too large."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            parts = [
                (one.filename, archive.read(one)) for one in archive.infolist() if one.file_size < 300_000
            ]
    except Exception:  # a broken one is spoilt as bytes
        import atheris

        return bytes(atheris.Mutate(data, most))
    if not parts:
        return data
    at = dice.randrange(len(parts))
    telling = [n for n, (name, _) in enumerate(parts) if _TELLING.search(name)]
    if telling and dice.random() < 0.7:  # most of an archive is what holds it together
        at = dice.choice(telling)
    name, content = parts[at]
    way = dice.random()
    if way < 0.5 and content.lstrip().startswith(b"<"):
        parts[at] = (name, _cell_changed(content, dice))
    elif way < 0.8:
        content = spoilt_text(content.replace(b"><", b">\n<"), dice, (content,))
        parts[at] = (name, content)
    elif way < 0.87:
        del parts[at]
    elif way < 0.94:
        parts[at] = (
            dice.choice(("../" + name, "/" + name, name + "/", "photos/a.jpg", parts[0][0])),
            content,
        )
    else:
        parts.append((name, content))
    return packed(parts)[:most]


_TELLING = re.compile(r"sheets/|sharedStrings|styles|jsonl")
_CELL = re.compile(rb"(?<=>)[^<>]+(?=<)|(?<==\")[^\"<>]*(?=\")")


def _cell_changed(content: bytes, dice: random.Random) -> bytes:
    """Return markup with one text or one attribute's value changed, so that it can still be taken apart."""
    cells = list(_CELL.finditer(content))
    if not cells:
        return content
    one = dice.choice(cells)
    new = (
        dice.choice(cells).group()
        if dice.random() < 0.5
        else html.escape(dice.choice(HOSTILE).decode()).encode()
    )
    return content[: one.start()] + new + content[one.end() :]


def packed(parts: list[tuple[str, bytes]]) -> bytes:
    """Return an archive of these members."""
    import warnings

    out = io.BytesIO()
    with warnings.catch_warnings(), zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        warnings.simplefilter("ignore")  # two members of one name are meant
        for name, content in parts:
            archive.writestr(zipfile.ZipInfo(name), content, zipfile.ZIP_DEFLATED)
    return out.getvalue()
