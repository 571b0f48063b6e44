"""price, quote, learn and price-book as a person meets them: outputs, exit codes, bad files by row."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from slabwright.cli import main
from slabwright.cli.group import DEBUG
from slabwright.cli.money import BUSINESS
from slabwright.cli.talk import FAILED, FINE, STOPPED, UNUSABLE
from slabwright.money import load_book

EXAMPLES = Path(__file__).parents[2] / "examples"
WALK = EXAMPLES / "side-walk" / "job.yaml"
HEAD = "group,code,condition,unit,value,low,high,currency,date\n"
COMMANDS = ("change", "invoice", "learn", "price", "price-book", "quote")
ON = ("--date", "2026-05-04")
DAYS = "date,job,step,condition,unit,amount,hours\n"
ORDERS = "date,job,unit,drawn,delivered,left\n"


def run(*args: str | Path, **env: str) -> Result:
    """Run the command line in process; an exception of ours would be a failed test."""
    result = CliRunner(env={DEBUG: "1", **env}).invoke(main, [str(a) for a in args])
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("book") / "prices.csv"
    assert run("price-book", "-o", path).exit_code == FINE
    return path


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_help_worth_reading(command: str) -> None:
    result = run(command, "--help")
    assert result.exit_code == FINE
    assert len(result.output) > 200


# --- a book to fill in ----------------------------------------------------------------------------------


def test_the_book_to_fill_in_can_be_read_and_says_that_it_is_invented(book: Path) -> None:
    made = load_book(book)
    assert made.findings == ()
    assert len(made.lines) > 50
    assert "invented price" in book.read_text()


def test_the_book_as_a_workbook_is_the_same_book(book: Path, tmp_path: Path) -> None:
    path = tmp_path / "prices.xlsx"
    assert run("price-book", "-o", path).exit_code == FINE
    values = {key: line.value for key, line in load_book(path).lines.items()}
    assert values == {key: line.value for key, line in load_book(book).lines.items()}


def test_a_book_is_never_overwritten(tmp_path: Path) -> None:
    mine = tmp_path / "prices.csv"
    mine.write_text("mine")
    result = run("price-book", "-o", mine)
    assert result.exit_code == FAILED
    assert mine.read_text() == "mine"
    assert run("price-book").stdout.startswith("group,code,")


# --- price ----------------------------------------------------------------------------------------------


def test_price_tells_the_owner_on_stdout_and_writes_nothing(book: Path, tmp_path: Path) -> None:
    result = run("price", WALK, "--book", book, *ON)
    assert result.exit_code == FINE, result.output
    for said in ("Cost lines", "= Full cost", "Customer pays", "Band of the full cost", "prices.csv:2"):
        assert said in result.stdout
    assert list(tmp_path.iterdir()) == []


def test_price_in_spanish(book: Path) -> None:
    result = run("price", WALK, "--book", book, *ON, "--lang", "es")
    for said in ("Costo completo", "estacas", " pza ", " carga "):
        assert said in result.stdout
    for english in ("stakes,", " each "):
        assert english not in result.stdout
    assert "Full cost" not in result.stdout


def test_every_file_of_the_owner_says_so_in_its_name(book: Path, tmp_path: Path) -> None:
    result = run("price", WALK, "--book", book, *ON, "--out", tmp_path)
    assert result.exit_code == FINE
    names = {path.name for path in tmp_path.iterdir()}
    assert all(name.startswith("owner-") for name in names)
    assert {"owner-estimate.pdf", "owner-estimate.csv", "owner-estimate.xlsx"} <= names


def test_a_lower_price_is_a_larger_risk(book: Path) -> None:
    low = run("price", WALK, "--book", book, *ON, "--at", "$1,500")
    assert "At a price of $1,500.00 the chance that it does not cover its full cost is 100 %" in low.stdout


def test_way_trips_and_permits_cost(book: Path) -> None:
    near = run("price", WALK, "--book", book, *ON).stdout
    far = run(
        *("price", WALK, "--book", book, *ON, "--distance", "12 mi", "--drive", "30 min"),
        *("--trips", "3", "--permit", "driveway permit"),
    ).stdout
    assert "truck by the mile" in far
    assert "truck by the mile" not in near
    miles = next(line for line in far.splitlines() if "truck by the mile" in line)
    assert " 72 " in miles  # 12 miles there and back, three times
    assert "$120.00" in far


def test_a_later_book_replaces_lines_of_an_earlier_one(book: Path, tmp_path: Path) -> None:
    mine = tmp_path / "mine.csv"
    mine.write_text(HEAD + "plant,concrete,,yd3,999.00,,,USD,2026-05-01\n")
    result = run("price", WALK, "--book", book, "--book", mine, *ON)
    assert "$999.00" in result.stdout
    assert "mine.csv:2" in result.stdout


def test_something_without_a_price_stops(tmp_path: Path) -> None:
    bare = tmp_path / "bare.csv"
    bare.write_text(HEAD + "labour,leader,,h,30,,,USD,\n")
    result = run("price", WALK, "--book", bare, *ON)
    assert result.exit_code == STOPPED
    assert "stop" in result.stderr


def test_a_price_of_long_ago_is_told(book: Path) -> None:
    now = run("price", WALK, "--book", book, *ON)
    later = run("price", WALK, "--book", book, "--date", "2029-05-04")
    assert "days old" not in now.stderr
    assert later.exit_code == FINE
    assert "caution" in later.stderr


# --- bad books ------------------------------------------------------------------------------------------

BAD = [
    ("material,base,,ton,-31,,,USD,2026-03-01", "value", "value"),
    ("material,base,,ton,,,,USD,2026-03-01", "value", "price or value is missing"),
    ("material,base,,ton,0,,,USD,2026-03-01", "value", "price is zero"),
    ("material,base,,furlongs,31,,,USD,2026-03-01", "unit", "furlongs"),
    ("material,base,,ton,31,40,20,USD,2026-03-01", "low", "40"),
    ("material,base,,ton,31,,,EUR,2026-03-01", "currency", "EUR"),
    ("material,base,,ton,31,,,USD,3 May", "date", "3 May"),
    ("rate,finish,,ft2,0,,,,2026-03-01", "value", "zero"),
    ("stuff,base,,ton,31,,,USD,2026-03-01", "group", "stuff"),
    ("term,profit,,%,15,,,,2026-03-01", "condition", "profit"),
]


@pytest.mark.parametrize(("row", "column", "said"), BAD)
@pytest.mark.parametrize("command", ["price", "quote", "learn"])
def test_a_bad_book_ends_with_two_and_names_row_and_field(
    command: str, row: str, column: str, said: str, tmp_path: Path
) -> None:
    bad = tmp_path / "bad.csv"
    bad.write_text(HEAD + "plant,concrete,,yd3,172,,,USD,2026-03-01\n" + row + "\n")
    days = tmp_path / "days.csv"
    days.write_text(DAYS)
    out = tmp_path / "out"
    args = ("learn", days) if command == "learn" else (command, WALK, *ON, "--out", out)
    result = run(*args, "--book", bad)
    assert result.exit_code == UNUSABLE, result.output
    assert f"bad.csv:3, {column}: " in result.stderr
    assert said in result.stderr
    assert not out.exists()
    assert result.stdout == ""


def test_every_mistake_of_a_book_is_told_at_once(tmp_path: Path) -> None:
    bad = tmp_path / "bad.csv"
    bad.write_text(HEAD + "".join(f"{row}\n" for row, *_ in BAD))
    result = run("price", WALK, "--book", bad, *ON)
    places = [f"bad.csv:{n}, {column}: " for n, (_, column, _) in enumerate(BAD, 2)]
    assert all(place in result.stderr for place in places)
    assert f"{len(BAD)} mistakes in bad.csv" in result.stderr


def test_two_currencies_are_not_added(book: Path, tmp_path: Path) -> None:
    other = tmp_path / "euro.csv"
    other.write_text(HEAD + "material,base,,ton,31,,,EUR,2026-03-01\n")
    result = run("price", WALK, "--book", book, "--book", other, *ON)
    assert result.exit_code == UNUSABLE
    assert "EUR" in result.stderr


@pytest.mark.parametrize("what", ["missing.csv", ".", "empty.csv", "noise.csv"])
def test_what_is_no_book_is_told(what: str, tmp_path: Path) -> None:
    (tmp_path / "empty.csv").write_text("")
    (tmp_path / "noise.csv").write_bytes(bytes(range(256)) * 8)
    result = run("price", WALK, "--book", tmp_path / what, *ON)
    assert result.exit_code == UNUSABLE
    assert "Traceback" not in result.output


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("--option", "finish"), "finish=exposed"),
        (("--option", "colour=red"), "finish=exposed"),
        (("--option", "thicker=much"), "thicker=1 in"),
        (("--distance", "12"), "12 mi"),
        (("--drive", "soon"), "30 min"),
        (("--at", "a lot"), "example 3200"),
        (("--currency", "ducats"), "USD"),
        (("--date", "04/05/2026"), "2026-05-04"),
    ],
)
def test_what_is_typed_wrongly_says_what_would_do(args: tuple[str, ...], said: str, book: Path) -> None:
    result = run("price", WALK, "--book", book, *args)
    assert result.exit_code == UNUSABLE
    assert said in result.stderr


# --- quote ----------------------------------------------------------------------------------------------


def test_a_quote_with_options_care_sheet_and_days(book: Path, tmp_path: Path) -> None:
    import io

    import pypdf

    args = (
        *(
            "quote",
            WALK,
            "--book",
            book,
            *ON,
            "--out",
            tmp_path,
            "--business",
            "Alder Concrete; 12 Elm Street",
        ),
        *("--option", "finish@side walk=salt", "--begins", "2026-05-09", "--valid-days", "14"),
    )
    result = run(*args)
    assert result.exit_code == FINE, result.output
    assert {path.name for path in tmp_path.iterdir()} == {"quote.pdf", "care.pdf", "quote.ics", "quote.json"}
    pages = pypdf.PdfReader(io.BytesIO((tmp_path / "quote.pdf").read_bytes())).pages
    text = " ".join(page.extract_text() for page in pages)
    for said in ("Alder Concrete", "R. Okafor", "Salt finish", "May 18, 2026", "260504"):
        assert said in text
    calendar = (tmp_path / "quote.ics").read_text()
    # the 9th of May 2026 is a Saturday: work begins on Monday
    assert "DTSTART;VALUE=DATE:20260511" in calendar
    assert calendar.count("BEGIN:VEVENT") == 3


def test_the_same_notes_and_date_give_the_same_bytes(book: Path, tmp_path: Path) -> None:
    for name in ("a", "b"):
        for command in ("quote", "price"):
            done = run(command, WALK, "--book", book, *ON, "--out", tmp_path / name, "--lang", "es")
            assert done.exit_code == FINE
    names = sorted(path.name for path in (tmp_path / "a").iterdir())
    assert len(names) > 5
    for name in names:
        assert (tmp_path / "a" / name).read_bytes() == (tmp_path / "b" / name).read_bytes(), name


def test_without_a_business_there_is_a_line_for_it(book: Path, tmp_path: Path) -> None:
    plain = run("quote", WALK, "--book", book, *ON, "--out", tmp_path / "a", **{BUSINESS: ""})
    assert "no --business was given" in plain.stderr
    named = run("quote", WALK, "--book", book, *ON, "--out", tmp_path / "b", **{BUSINESS: "Alder Concrete"})
    assert "no --business was given" not in named.stderr


def test_a_quote_with_a_hole_is_marked_and_stops(tmp_path: Path) -> None:
    bare = tmp_path / "bare.csv"
    bare.write_text(HEAD + "labour,leader,,h,30,,,USD,\n")
    result = run("quote", WALK, "--book", bare, *ON, "--out", tmp_path / "out")
    assert result.exit_code == STOPPED
    assert "NOT READY" in result.stderr


def test_an_option_that_cannot_be_had_is_told_and_left_out(book: Path, tmp_path: Path) -> None:
    result = run("quote", WALK, "--book", book, *ON, "--out", tmp_path, "--option", "take-out=the moon")
    assert result.exit_code == STOPPED
    assert "the moon" in result.stderr
    assert (tmp_path / "quote.pdf").exists()


# --- learn ----------------------------------------------------------------------------------------------


def _days(jobs: int, amount: int = 120) -> str:
    first = date(2026, 1, 5)
    return DAYS + "".join(
        f"{first + timedelta(days=7 * n)},job {n},finish,,ft2,{amount + n},2\n" for n in range(jobs)
    )


def test_learn_shows_the_band_and_the_jobs_and_writes_the_book(book: Path, tmp_path: Path) -> None:
    days, orders, new = tmp_path / "days.csv", tmp_path / "orders.csv", tmp_path / "new.csv"
    days.write_text(_days(6))
    orders.write_text(ORDERS + "2026-01-05,job 0,yd3,4.0,4.5,0.25\n")
    result = run("learn", days, orders, "--book", book, "-o", new)
    assert result.exit_code == FINE, result.output
    row = next(line for line in result.stdout.splitlines() if line.startswith("finish")).split()
    from_book, middle, low, high = (float(x) for x in row[-5:-1])
    assert row[-1] == "6"
    assert low < middle < from_book == 90.0  # 60 to 62 ft2 an hour were done, the book says 90
    assert 60.0 < middle < high
    assert "1 on record" in result.stdout
    line = load_book(new).find("rate", "finish")
    assert line is not None
    assert abs(line.value - Decimal(repr(middle))) < Decimal("0.01")


@pytest.mark.parametrize("ending", [".csv", ".xlsx"])
def test_the_same_record_is_not_counted_twice(ending: str, book: Path, tmp_path: Path) -> None:
    days, new = tmp_path / "days.csv", tmp_path / f"new{ending}"
    days.write_text(_days(6))
    assert run("learn", days, "--book", book, "-o", new).exit_code == FINE
    assert run("price", WALK, "--book", new, *ON).exit_code == FINE
    for args in (("learn", days, "--book", new), ("price", WALK, "--book", new, *ON, "--record", days)):
        result = run(*args)
        assert result.exit_code == UNUSABLE
        assert "learn from the book as it was written" in result.stderr


def test_options_in_a_circle_are_told_by_their_names(book: Path) -> None:
    circle = ("--option", "finish=salt after steel=fiber", "--option", "steel=fiber after finish=salt")
    result = run("price", WALK, "--book", book, *ON, *circle)
    assert result.exit_code == STOPPED
    assert "finish=salt > steel=fiber > finish=salt" in result.stderr
    on_top = run("price", WALK, "--book", book, *ON, *circle[:2], "--option", "steel=fiber")
    assert on_top.exit_code == FINE, on_top.output
    assert "on top of: Fibre in the concrete" in on_top.stdout


def test_the_next_estimate_uses_what_was_learned(book: Path, tmp_path: Path) -> None:
    days = tmp_path / "days.csv"
    days.write_text(_days(12))
    before = run("price", WALK, "--book", book, *ON).stdout
    after = run("price", WALK, "--book", book, *ON, "--record", days).stdout

    def hours(text: str) -> float:
        words = next(line for line in text.splitlines() if "floated, edged" in line).split()
        return float(words[words.index("h") - 1])

    assert hours(after) > 1.2 * hours(before)


def test_one_absurd_day_is_set_aside_until_it_is_kept(book: Path, tmp_path: Path) -> None:
    days = tmp_path / "days.csv"
    days.write_text(_days(3) + "2026-03-01,job 9,finish,,ft2,90000,1\n")
    told = run("learn", days, "--book", book)
    kept = run("learn", days, "--book", book, "--keep", "5")
    assert "caution" in told.stderr
    assert "caution" not in kept.stderr
    assert told.stdout != kept.stdout


def test_bad_records_end_with_two_and_name_the_row(book: Path, tmp_path: Path) -> None:
    days = tmp_path / "days.csv"
    days.write_text(DAYS + "2026-01-05,job 0,finish,,ft2,120,0\nsoon,job 1,finish,,ft2,120,2\n")
    result = run("learn", days, "--book", book)
    assert result.exit_code == UNUSABLE
    assert "days.csv:2, hours: " in result.stderr
    assert "hours" in result.stderr
    assert "days.csv:3, date: " in result.stderr
    assert "soon" in result.stderr


def test_no_record_teaches_nothing_and_says_so(book: Path, tmp_path: Path) -> None:
    days = tmp_path / "days.csv"
    days.write_text(DAYS + "2026-01-05,job 0,juggling,,ft2,120,2\n")
    result = run("learn", days, "--book", book)
    assert "teaches no rate yet" in result.stdout
    assert "juggling" in result.stderr
