"""The `spanwright` command: serve the workshop, keep its people, save and check its records."""

import sqlite3
import sys
from pathlib import Path

import click

from . import context, keeping, origin, people, serve, store, tls
from .app import create_app
from .core import words
from .core.errors import CoreError
from .tags import qr_code

DATA = click.option("--data", required=True, type=click.Path(file_okay=False, path_type=Path),
                    help="Folder of the workshop's records.")
ROLES = [code for code, _label in words.choice_pairs("role")]


@click.group()
def main():
    """Spanwright: job card and measuring tool for the accessory belt drive."""


# Serving

@main.command("serve")
@DATA
@click.option("--port", type=int, help="Plain HTTP: this machine, and connecting phones.  [at first: 8080]")
@click.option("--https-port", type=int, help="HTTPS for the workshop.  [at first: the port after --port]")
@click.option("--name", help="Name or IPv4 address of this server, fixed at the first start.  [at first: LAN address]")
@click.option("--bind", default="0.0.0.0", show_default=True, help="Address to listen on.")
@click.option("--demo", is_flag=True, help="An invented workshop: the origin follows this command every time.")
def serve_command(data, port, https_port, name, bind, demo):
    """Serve the workshop on the local network, until stopped by Ctrl+C or SIGTERM."""
    serve.log_to_stderr()
    _own_folder(data)
    try:
        fixed = _fix_origin(data, name, port, https_port, demo)
        certificates = tls.Certificates(data / "tls")
        app = create_app({"DATA": data, "ORIGIN": fixed, "CERTIFICATES": certificates})
        server = serve.Server(app, fixed, certificates, bind)
        server.start()
    except (tls.NotSafe, origin.NotAnOrigin, OSError) as error:
        raise click.ClickException(str(error)) from error
    _greet(data, fixed, certificates, demo)
    server.wait()


def _fix_origin(data, name, port, https_port, demo):
    """The origin of the first start holds for good, since paper tags and phones' storage are bound to it."""
    held = origin.load(data)
    if held is None or demo:
        port = port or 8080
        held = origin.Origin(name or origin.lan_address(), port, https_port or port + 1)
        origin.save(data, held)
    asked = origin.Origin(name or held.name, port or held.http_port, https_port or held.https_port)
    if asked != held:
        raise click.ClickException(
            f"This workshop lives at {held.url} (plain port {held.http_port}), and its tags and phones are bound to that. "
            "Start without --name, --port and --https-port, or move it: see “Moving the server” in the README.")
    return held


def _greet(data, fixed, certificates, demo):
    click.echo()
    click.echo(f"  On this machine    http://localhost:{fixed.http_port}/")
    click.echo(f"  For the workshop   {fixed.url}/   (after the phone is connected)")
    click.echo(f"  Connect a phone    {fixed.connect_url}")
    click.echo(f"  Fingerprint of the workshop's authority, to compare on the phone:\n    {certificates.fingerprint()}")
    if demo:
        click.echo("\n  Who can sign in, all invented:")
        for line in (data / "sign_in.txt").read_text().splitlines():
            click.echo(f"    {line}")
    click.echo("\n  Scan to connect a phone:")
    code = qr_code(fixed.connect_url)
    code.print_ascii(invert=True)
    click.echo("  Stop with Ctrl+C.\n")


@main.command()
@DATA
@click.option("--name", required=True, help="The new name or IPv4 address.")
@click.option("--port", type=int, help="The new plain port.  [default: as before]")
@click.option("--https-port", type=int, help="The new secure port.  [default: as before]")
def move(data, name, port, https_port):
    """Give the workshop a new permanent name. Tags on paper and connected phones stay bound to the old one."""
    held = origin.load(_existing(data))
    if held is None:
        raise click.ClickException("This workshop has not been started yet, so there is nothing to move.")
    new = origin.Origin(name, port or held.http_port, https_port or held.https_port)
    certificates = tls.Certificates(data / "tls")
    try:
        origin.save(data, new)
        names, addresses = origin.names_and_addresses(new)
        if certificates.left_out(names, addresses):
            click.echo(f"The authority may not vouch for {name}. The old one is kept as {certificates.put_away().name}; "
                       "each phone installs the new one.")
    except (tls.NotSafe, origin.NotAnOrigin) as error:
        raise click.ClickException(str(error)) from error
    click.echo(f"The workshop now lives at {new.url}. Send what phones still hold first, then connect each again and "
               "print new tags; codes typed from old tags keep working.")


# People

@main.group()
def person():
    """Who may sign in."""


@person.command("add")
@DATA
@click.argument("name")
@click.option("--role", "roles", multiple=True, required=True, type=click.Choice(ROLES), help="Can be given twice.")
@click.option("--pin-stdin", is_flag=True, help="Read the PIN from standard input instead of asking.")
def person_add(data, name, roles, pin_stdin):
    """Add a person; the PIN is asked for and never part of the command."""
    with _database(data) as db:
        people.add(db, name, list(roles), _pin(pin_stdin), "", context.now())
    click.echo(f"{name} can sign in now.")


@person.command("list")
@DATA
def person_list(data):
    """List everybody with their roles."""
    with _database(_existing(data)) as db:
        for held in people.listed(db):
            click.echo(f"{held['name']:<30} {', '.join(held['roles'])}{'' if held['active'] else '  (not active)'}")


@person.command("pin")
@DATA
@click.argument("name")
@click.option("--pin-stdin", is_flag=True, help="Read the PIN from standard input instead of asking.")
def person_pin(data, name, pin_stdin):
    """Give a person a new PIN, and lift a wait after wrong ones."""
    with _database(_existing(data)) as db:
        found = [p for p in people.active(db) if p["name"].casefold() == name.casefold()]
        if not found:
            raise click.ClickException(f"Nobody active is called {name}. See: spanwright person list")
        people.change_pin(db, found[0]["id"], _pin(pin_stdin), "", context.now())
    click.echo(f"{found[0]['name']} has a new PIN.")


def _pin(from_stdin):
    if from_stdin:
        return sys.stdin.readline().strip()
    return click.prompt("PIN (4 to 12 digits)", hide_input=True, confirmation_prompt=True)


# Records

@main.command()
@DATA
@click.argument("target", type=click.Path(path_type=Path))
def backup(data, target):
    """Save records, photos, sounds and certificates to the folder TARGET, while the server runs. TARGET must not exist."""
    try:
        counts = keeping.back_up(_existing(data), target)
    except (OSError, sqlite3.Error) as error:
        raise click.ClickException(f"Nothing was saved: {error}") from error
    click.echo(f"Saved {counts['events']} entries and {counts['photos']} photos and {counts['sounds']} sounds to {target}.")


@main.command()
@DATA
def verify(data):
    """Check every job's chain, every photo and every sound; name those that have not arrived yet."""
    with _database(_existing(data)) as db:
        jobs, faults, awaited = keeping.check(db, data)
    for sentence in faults + awaited:
        click.echo(sentence)
    if faults:
        raise click.ClickException(f"{len(faults)} fault(s) in {jobs} jobs.")
    click.echo(f"{jobs} jobs: every chain holds, no photo or sound was changed, {len(awaited)} still awaited.")


@main.command()
@DATA
def rebuild(data):
    """Make the lists and look-ups afresh from the records."""
    with _database(_existing(data)) as db:
        click.echo(f"{store.rebuild(db)} jobs.")


class _database:
    """The workshop's database for one command; a refusal becomes a sentence."""

    def __init__(self, data):
        self._data = data

    def __enter__(self):
        _own_folder(self._data)
        self._db = store.open_database(self._data / "spanwright.db")
        return self._db

    def __exit__(self, _kind, error, _trace):
        self._db.close()
        if isinstance(error, CoreError):
            raise click.ClickException(words.sentence(error)) from error


def _own_folder(data):
    # Others on this machine have no business with the records.
    data.mkdir(mode=0o700, parents=True, exist_ok=True)


def _existing(data):
    if not (data / "spanwright.db").exists():
        raise click.ClickException(f"There is no workshop in {data}.")
    return data
