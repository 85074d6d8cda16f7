"""The `spanwright` command, as a person types it."""

import json
import os
import re
import signal
import sqlite3
import subprocess
import sys
import urllib.request
from pathlib import Path

import click
import pytest
import zxingcpp
from click.testing import CliRunner
from PIL import Image

from tests.conftest import free_port
from webapp import cli, origin, people, store, tls
from webapp.app import create_app

ROOT = Path(__file__).resolve().parent.parent.parent


def run(*words, typed=None):
    return CliRunner().invoke(cli.main, [str(word) for word in words], input=typed)


def every_command(group=cli.main, name="spanwright"):
    for word, command in sorted(group.commands.items()):
        if isinstance(command, click.Group):
            yield from every_command(command, f"{name} {word}")
        else:
            yield f"{name} {word}", command


def test_the_readme_tells_every_command_and_option():
    text = (ROOT / "README.md").read_text()
    commands = list(every_command())
    assert len(commands) >= 8
    for name, command in commands:
        assert f"`{name}" in text, name
        for option in command.params:
            for word in option.opts:
                assert not word.startswith("--") or word in text, f"{name} {word}"


def test_people_by_command(tmp_path):
    data = tmp_path / "shop"
    assert run("person", "add", "--data", data, "Ada Brook", "--role", "supervisor", typed="4711\n4711\n").exit_code == 0
    assert run("person", "add", "--data", data, "Bo Kite", "--role", "technician", "--role", "parts", "--pin-stdin",
               typed="123456\n").exit_code == 0
    assert run("person", "list", "--data", data).output.split("\n")[:2] == [
        "Ada Brook                      supervisor", "Bo Kite                        technician, parts"]
    assert data.stat().st_mode & 0o077 == 0
    assert run("person", "pin", "--data", data, "bo kite", "--pin-stdin", typed="8888\n").exit_code == 0
    assert "Nobody active" in run("person", "pin", "--data", data, "Cy", "--pin-stdin", typed="8888\n").output
    db = store.open_database(data / "spanwright.db")
    bo = next(p["id"] for p in people.listed(db) if p["name"] == "Bo Kite")
    people.check_pin(db, bo, "8888")
    db.close()


@pytest.mark.parametrize("words, typed, says", [
    (["person", "add", "X", "--role", "technician", "--pin-stdin"], "12\n", "4 to 12 digits"),
    (["person", "add", "X", "--role", "wizard", "--pin-stdin"], "1234\n", "wizard"),
    (["person", "add", " ", "--role", "parts", "--pin-stdin"], "1234\n", "fill this in"),
    (["person", "pin", "Nobody", "--pin-stdin"], "1234\n", "no workshop"), (["person", "list"], "", "no workshop"),
    (["verify"], "", "no workshop"), (["move", "--name", "10.0.0.9"], "", "no workshop")])
def test_what_is_wrong_is_said_and_nothing_traces_back(tmp_path, words, typed, says):
    answer = run(*words, "--data", tmp_path / "shop", typed=typed)
    assert answer.exit_code != 0
    assert says in answer.output
    assert answer.exception is None or isinstance(answer.exception, SystemExit)


def test_a_backup_taken_while_others_write_is_whole(demo_copy, tmp_path):
    # A second connection leaves its newest records in the log beside the database, as a running server does.
    writer = store.open_database(demo_copy / "spanwright.db")
    people.add(writer, "Just Hired", ["parts"], "1234", "", "2026-03-09T08:05:00Z")
    answer = run("backup", "--data", demo_copy, tmp_path / "copy")
    writer.close()
    assert answer.exit_code == 0, answer.output
    assert "Just Hired" in run("person", "list", "--data", tmp_path / "copy").output
    assert "every chain holds" in run("verify", "--data", tmp_path / "copy").output
    assert (tmp_path / "copy").stat().st_mode & 0o077 == 0
    assert run("backup", "--data", demo_copy, tmp_path / "copy").exit_code == 1


def test_verify_finds_what_was_changed(demo_copy):
    photo = next((demo_copy / "photos").rglob("*.jpg"))
    photo.write_bytes(photo.read_bytes() + b"\0")
    # Somebody with the file and without the guard: the triggers are dropped first.
    bare = sqlite3.connect(demo_copy / "spanwright.db")
    bare.execute("DROP TRIGGER events_no_update")
    seq, content = bare.execute("SELECT seq, content FROM events WHERE content LIKE '%note_added%' LIMIT 1").fetchone()
    event = json.loads(content)
    event["data"]["text"] = "Never said"
    bare.execute("UPDATE events SET content = ? WHERE seq = ?", [json.dumps(event), seq])
    bare.commit()
    bare.close()
    answer = run("verify", "--data", demo_copy)
    assert answer.exit_code == 1
    assert f"the chain breaks at entry {seq}" in answer.output
    assert "was changed" in answer.output


def test_a_photo_that_has_not_arrived_is_no_fault(demo_copy):
    next((demo_copy / "photos").rglob("*.jpg")).unlink()
    answer = run("verify", "--data", demo_copy)
    assert answer.exit_code == 0
    assert "has not arrived" in answer.output


def test_rebuild_counts_the_jobs(demo_copy):
    bare = sqlite3.connect(demo_copy / "spanwright.db")
    count = bare.execute("SELECT count(DISTINCT job) FROM events").fetchone()[0]
    bare.close()
    assert run("rebuild", "--data", demo_copy).output == f"{count} jobs.\n"


def test_the_first_start_fixes_the_origin(tmp_path):
    data = tmp_path / "shop"
    origin.save(_made(data), origin.Origin("127.0.0.1", 8080, 8081))
    for words in (["--name", "10.9.9.9"], ["--port", "9090"], ["--port", "8080", "--https-port", "9443"]):
        answer = run("serve", "--data", data, *words)
        assert answer.exit_code == 1
        assert "https://127.0.0.1:8081" in answer.output and "Moving the server" in answer.output


def test_a_move_keeps_the_authority_when_it_may_vouch_for_the_new_name(tmp_path):
    data = _made(tmp_path / "shop")
    store.open_database(data / "spanwright.db").close()
    origin.save(data, origin.Origin("10.1.1.1", 8080, 8081))
    certificates = tls.Certificates(data / "tls")
    certificates.ensure(*origin.names_and_addresses(origin.load(data)))
    before = certificates.fingerprint()
    assert "https://10.1.1.2:8081" in run("move", "--data", data, "--name", "10.1.1.2").output
    assert certificates.fingerprint() == before
    answer = run("move", "--data", data, "--name", "bay.example", "--https-port", "8443")
    assert "installs the new one" in answer.output
    assert origin.load(data) == origin.Origin("bay.example", 8080, 8443)
    certificates.ensure(*origin.names_and_addresses(origin.load(data)))
    assert certificates.fingerprint() != before


def _made(folder):
    folder.mkdir()
    return folder


def read_qr(said):
    """Look at the terminal with zxing-cpp: each sign is two modules, one above the other, and a drawn half is light."""
    halves = {"█": (255, 255), "▀": (255, 0), "▄": (0, 255), " ": (0, 0), "\N{NO-BREAK SPACE}": (0, 0)}
    lines = [line.rstrip("\n") for line in said.splitlines() if line.startswith("█")]
    rows = [[halves[sign][half] for sign in line] for line in lines for half in (0, 1)]
    picture = Image.new("L", (len(rows[0]), len(rows)), 255)
    picture.putdata([grey for row in rows for grey in row])
    return zxingcpp.read_barcodes(picture.resize((picture.width * 6, picture.height * 6), Image.Resampling.NEAREST))[0].text


def test_serve_says_where_and_who_and_stops_when_asked(demo_copy):
    port = free_port()
    command = [sys.executable, "-c", "from webapp.cli import main; main()", "serve", "--demo", "--data", str(demo_copy),
               "--port", str(port), "--https-port", str(free_port()), "--name", "127.0.0.1", "--bind", "127.0.0.1"]
    served = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
                              env={**os.environ, "PYTHONUNBUFFERED": "1"})
    try:
        lines = []
        while "Stop with" not in (line := served.stdout.readline()):
            assert line, served.stderr.read()
            lines.append(line)
        said = "".join(lines)
        assert f"http://localhost:{port}/" in said and f"http://127.0.0.1:{port}/connect" in said
        assert "Mara Tiller" in said and re.search(r"PIN \d{4}", said)
        assert read_qr(said) == f"http://127.0.0.1:{port}/connect"
        with urllib.request.urlopen(f"http://127.0.0.1:{port}/jobs") as answer:
            assert answer.url.startswith(f"http://127.0.0.1:{port}/signin")
    finally:
        served.send_signal(signal.SIGTERM)
        out, err = served.communicate(timeout=20)
    assert served.returncode == 0
    assert "Traceback" not in err and "stopping" in err


def test_a_folder_named_from_here_works_for_photos_too(demo_copy, monkeypatch):
    monkeypatch.chdir(demo_copy.parent)
    app = create_app({"DATA": demo_copy.name})
    photo = next((demo_copy / "photos").rglob("*.jpg"))
    with app.test_request_context():
        response = app.view_functions["photos.thumb"](name=photo.stem)
        assert response.status_code == 200
        response.close()
