"""The command of the office: the site in the browser, its backups, and a way back in for its owner."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from slabwright.cli.group import main
from slabwright.cli.talk import FAILED, UNUSABLE, leave, talk

FILE = click.Path(dir_okay=False, path_type=Path)
FOLDER = click.Path(file_okay=False, path_type=Path)
HOME = click.option(
    "--home",
    type=FOLDER,
    help="Folder of the data; default: $SLABWRIGHT_HOME, else the user's data folder.",
)


def _ready(home: Path | None, *, alone: str = "") -> None:
    """Set the office up; `alone`: hold its home against others meanwhile, and what they are told."""
    from slabwright.office import running

    try:
        running.prepare(home)
        if alone:
            from slabwright.office.settings import home as folder
            from slabwright.office.upgrade import hold

            hold(folder(), alone)
        running.bring_up_to_date(talk)
    except running.OfficeError as error:
        leave(FAILED, f"slabwright: {error}.")


@main.group(invoke_without_command=True)
@HOME
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on.")
@click.option("--port", default=8000, show_default=True, type=click.IntRange(1, 65535))
@click.option("--workers", type=click.IntRange(1, 64), help="Default: one more than cores.")
@click.option(
    "--load", "files", type=FILE, multiple=True, help="Job file to bring in, unless its title is there."
)
@click.pass_context
def office(
    ctx: click.Context, home: Path | None, host: str, port: int, workers: int | None, files: tuple[Path, ...]
) -> None:
    """Open the office: jobs, quotes and pour days in the browser, for the shop and its crew.

    The first visit makes the owner's account. Data lie in one folder, in an embedded database; on
    PostgreSQL with $SLABWRIGHT_DATABASE. To be seen by other machines it needs --host, $SLABWRIGHT_HOSTS and
    a proxy that speaks TLS ($SLABWRIGHT_HTTPS=1).
    """
    if ctx.invoked_subcommand is not None:
        ctx.obj = home
        return
    from slabwright.office import running

    _ready(home, alone=f"at {host}:{port}")
    try:
        running.bring_in(files, talk)
        running.serve(host=host, port=port, workers=workers, tell=talk)
    except running.OfficeError as error:
        leave(FAILED, f"slabwright: {error}.")


@office.command()
@click.argument("target", type=FILE)
@HOME
@click.pass_obj
def backup(given: Path | None, target: Path, home: Path | None) -> None:
    """Write everything (people, jobs, quotes, photos) into one file, while the office may stay open.

    The same file can be restored into either kind of database. It holds all that the office knows:
    keep it as safe as the office itself.
    """
    _ready(home or given)
    from slabwright.office import backup as keeping
    from slabwright.office.running import OfficeError

    try:
        held = keeping.write(target)
    except OfficeError as error:
        leave(FAILED, f"slabwright: {error}.")
    talk(f"wrote {target}: {held['job']} jobs, {held['revision']} revisions, {held['photo']} photos")


@office.command()
@click.argument("source", type=FILE)
@click.option("--over", is_flag=True, help="Replace what is there.")
@HOME
@click.pass_obj
def restore(given: Path | None, source: Path, over: bool, home: Path | None) -> None:
    """Take a backup back, wholly or not at all. Stop the office first; everybody signs in again."""
    _ready(home or given, alone="taking a backup back")
    from slabwright.office import backup as keeping
    from slabwright.office.running import OfficeError

    try:
        held = keeping.restore(source, over=over)
    except OfficeError as error:
        leave(UNUSABLE, f"slabwright: {error}.")
    talk(f"restored {held['job']} jobs, {held['revision']} revisions, {held['photo']} photos")


@office.command()
@click.argument("email")
@HOME
@click.pass_obj
def password(given: Path | None, email: str, home: Path | None) -> None:
    """Set the password of the account EMAIL anew, typed here: the way back in for an owner."""
    _ready(home or given)
    from django.contrib.auth.password_validation import validate_password
    from django.core.exceptions import ValidationError

    from slabwright.office.actions import audit
    from slabwright.office.models import Person

    person = Person.objects.filter(email=email.strip().lower()).first()
    if person is None:
        leave(UNUSABLE, f'slabwright: nobody here has the address "{email}".')
    typed = click.prompt("New password", hide_input=True, confirmation_prompt=True, err=True)
    try:
        validate_password(typed, person)
    except ValidationError as error:
        leave(UNUSABLE, f"slabwright: {' '.join(error.messages)}")
    person.set_password(typed)
    person.save(update_fields=["password"])
    audit.note("password-set", person=person, about="on the office's machine")
    talk(f"{person} can sign in with the new password")
    sys.exit(0)
