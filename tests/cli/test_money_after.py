"""What follows a quote, as a person meets it: options taken, change orders, bills, the final bill."""

from __future__ import annotations

import json
import re
import shutil
from decimal import Decimal
from pathlib import Path
from typing import Any

import pypdf
import pytest
from click.testing import CliRunner, Result

from slabwright.cli import main
from slabwright.cli.group import DEBUG
from slabwright.cli.money_after import share_of
from slabwright.cli.talk import FAILED, FINE, UNUSABLE
from slabwright.money.kept import Kept, contract_of, read_kept

WALK = Path(__file__).parents[2] / "examples" / "side-walk" / "job.yaml"
ON = ("--date", "2026-05-04")
TAX = "group,code,condition,unit,value,name-es\ntax,local tax,on price,%,8.25,impuesto local\n"


def run(*args: str | Path) -> Result:
    """Run the command line in process; an exception of ours would be a failed test."""
    result = CliRunner(env={DEBUG: "1"}).invoke(main, [str(a) for a in args])
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result


def text_of(file: Path) -> str:
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(file).pages).split())


@pytest.fixture(scope="module")
def quoted(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a quote in it, of a job with an option taken and a tax on the price."""
    folder = tmp_path_factory.mktemp("quoted")
    assert run("price-book", "-o", folder / "prices.csv").exit_code == FINE
    (folder / "tax.csv").write_text(TAX)
    made = run(
        *("quote", WALK, "--book", folder / "prices.csv", "--book", folder / "tax.csv", *ON, "--out", folder),
        *("--business", "Alder Concrete; 12 Elm Street", "--option", "finish=salt"),
        *("--option", "thicker=1/2 in after finish=salt", "--take", "finish = salt"),
    )
    assert made.exit_code == FINE, made.output
    return folder


@pytest.fixture
def folder(quoted: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(quoted, tmp_path / "quote"))


def kept(folder: Path) -> Kept:
    return read_kept((folder / "quote.json").read_bytes())


def changed(folder: Path, *more: str) -> Result:
    words = ("--why", "Rock at the gate", "--what", "Break out the rock", "--price", "$250")
    return run("change", folder / "quote.json", *words, *ON, *more)


def billed(folder: Path, *more: str) -> Result:
    return run("invoice", folder / "quote.json", *ON, *more)


def test_an_option_taken_is_in_the_quote_and_the_rest_is_offered_on_it(folder: Path) -> None:
    quote = kept(folder).quote
    assert quote.lines[0].what.values["finish"].key == "finish-salt"
    assert [option.key for option in quote.options] == ["thicker=1/2 in"]
    assert quote.options[0].against == ()
    text = text_of(folder / "quote.pdf")
    assert "salt finish" in text
    assert "Salt finish" not in text  # no longer an option


def test_a_change_and_bills_come_to_what_was_agreed(folder: Path) -> None:
    assert changed(folder, "--days", "1").exit_code == FINE
    assert (
        billed(folder, "--done", "side walk=60 %", "--done", "change 1=100%", "--held", "10 %").exit_code == 0
    )
    assert billed(folder, "--done", "all=100 %", "--held", "5 %", "--lang", "es").exit_code == FINE
    assert billed(folder, "--final").exit_code == FINE
    now = kept(folder)
    assert sum(bill.due for bill in now.bills) == contract_of(now).total
    assert contract_of(now).price == now.quote.price + 250
    files = {path.name for path in folder.glob("*.pdf")}
    assert files == {"quote.pdf", "care.pdf", "change-1.pdf", *(f"invoice-{n}.pdf" for n in (1, 2, 3))}
    order, last = text_of(folder / "change-1.pdf"), text_of(folder / "invoice-3.pdf")
    total = f"${contract_of(now).total:,.2f}"
    for said in ("Change order 1", "Rock at the gate", "+$250.00", "Working days added: 1", total):
        assert said in order
    for said in ("final", "Due now", f"${now.bills[-1].due:,.2f}", "Change order 1: Break out the rock"):
        assert said in last
    spanish = text_of(folder / "invoice-2.pdf")
    for said in ("avance de obra", "Facturado antes", "impuesto local, 8.25 %", "18 de mayo de 2026"):
        assert said in spanish
    assert billed(folder, "--final").exit_code == UNUSABLE


def test_an_order_written_twice_is_asked_about(folder: Path) -> None:
    order = ("change", folder / "quote.json", *ON, "--what", "Haul rock", "--price")
    assert run(*order, "250", "--why", "Rock").exit_code == FINE
    twice = run(*order, "250.00", "--why", "Rock!")
    assert twice.exit_code == UNUSABLE
    assert "change order 1 says the same" in twice.output
    assert "--again" in twice.output
    assert len(kept(folder).changes) == 1
    assert run(*order, "250", "--why", "Rock", "--again").exit_code == FINE
    assert run(*order, "251", "--why", "Rock").exit_code == FINE
    assert len(kept(folder).changes) == 3


@pytest.mark.parametrize("command", ["change", "price"])
def test_no_example_holds_what_a_shell_would_take_apart(command: str) -> None:
    shown = run(command, "--help").output
    # "$250" in a shell is 50: only in single quotes is it what it looks like.
    assert not re.search(r"(?<!')\$[0-9]", shown)


def test_a_quote_with_something_after_it_is_not_written_over(folder: Path) -> None:
    again = ("quote", WALK, "--book", folder / "prices.csv", *ON, "--out", folder)
    assert run(*again).exit_code == FINE  # nothing hangs on it yet
    assert changed(folder).exit_code == FINE
    before = (folder / "quote.json").read_bytes()
    result = run(*again)
    assert result.exit_code == FAILED
    assert "left alone" in result.stderr
    assert (folder / "quote.json").read_bytes() == before
    (folder / "quote.json").write_text("something else")
    assert run(*again).exit_code == FAILED


def test_the_same_gives_the_same_bytes(quoted: Path, tmp_path: Path) -> None:
    made = []
    for name in ("a", "b"):
        one = Path(shutil.copytree(quoted, tmp_path / name))
        changed(one)
        billed(one, "--final")
        made.append({path.name: path.read_bytes() for path in one.iterdir()})
    assert made[0] == made[1]


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("change", "--why", "a", "--what", "b", "--price", "much"), "example 250"),
        (("change", "--why", "a", "--what", "b", "--price", "250 EUR"), "USD"),
        (("change", "--why", "a", "--what", "b", "--price", "-$99999"), "less than nothing"),
        (("change", "--why", "a", "--what", "b", "--price", "$1", "--date", "4 May"), "2026-05-04"),
        (("invoice",), "--final"),
        (("invoice", "--final", "--done", "all=50 %"), "--final"),
        (("invoice", "--done", "patio=50 %"), "there are: side walk"),
        (("invoice", "--done", "side walk=half"), "60 %"),
        (("invoice", "--done", "side walk"), "60 %"),
        (("invoice", "--done", "side walk=120 %"), "120 %"),
        (("invoice", "--final", "--held", "10"), "60 %"),
    ],
)
def test_what_cannot_be_is_told_and_changes_nothing(folder: Path, args: tuple[str, ...], said: str) -> None:
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    command, *more = args
    result = run(command, folder / "quote.json", *more)
    assert result.exit_code == UNUSABLE, result.output
    assert said in result.stderr
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


@pytest.mark.parametrize("what", ["gone.json", ".", "prices.csv", "altered.json"])
def test_what_is_no_kept_quote_is_told(folder: Path, what: str) -> None:
    data: dict[str, Any] = json.loads((folder / "quote.json").read_text())
    data["quote"]["price"] = "1.00"
    (folder / "altered.json").write_text(json.dumps(data))
    result = run("invoice", folder / what, "--final")
    assert result.exit_code == UNUSABLE
    assert "Traceback" not in result.output


def test_an_option_that_is_not_offered_cannot_be_taken(folder: Path, tmp_path: Path) -> None:
    args = ("quote", WALK, "--book", folder / "prices.csv", *ON, "--out", tmp_path / "new")
    result = run(*args, "--option", "finish=salt", "--take", "steel=fiber")
    assert result.exit_code == UNUSABLE
    assert "not offered: steel=fiber" in result.stderr
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize(("written", "share"), [("60 %", "0.6"), ("7.25%", "0.0725"), (" 100 % ", "1")])
def test_shares(written: str, share: str) -> None:
    assert share_of(written) == Decimal(share)
