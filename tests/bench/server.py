"""The served workshop over HTTPS: twenty phones that sync at once, and whether a full database costs more.

Every phone is a process of its own that signs in with a PIN and speaks the sync protocol, with the certificate checked.
"""

import datetime
import multiprocessing
import random
import shutil
import tempfile
import time
import uuid
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding

from demo_db import build
from tests.bench import client, tables
from tests.browser import flow, screens
from webapp import context, store

PHONES = 20
BATCHES = 10
SIZES = (1, 10, 50)
FEW, MANY = 1_000, 100_000
ROUNDS = 60
SAME_WITHIN = 0.20
OPEN_JOBS = 40
CHUNK = 500


# Twenty phones

def authority(data: Path) -> Path:
    """Write the certificate of the workshop's authority, without its key, to a file."""
    held = x509.load_pem_x509_certificates((data / "tls" / "server.pem").read_bytes())[-1]
    out = data.parent / "authority.crt"
    out.write_bytes(held.public_bytes(Encoding.PEM))
    return out


def batch(device, who, n, size):
    """Return a new job's first entries: booked in, then notes."""
    job = str(uuid.uuid4())
    booked = {"registration": f"BAY {random.randrange(10_000)}", "vin": None, "car": "Grey estate", "engine": None,
              "distance": None, "complaint": "Squeals when cold", "service": False}
    made = [("booked_in", booked)] + [("note_added", {"text": f"Looked at {i}", "handover": False}) for i in range(1, size)]
    return [{"v": 1, "id": str(uuid.uuid4()), "job": job, "loop": "", "kind": kind, "data": data, "who": who,
             "device": device, "n": n + i, "at": context.now(), "replaces": None} for i, (kind, data) in enumerate(made)]


def phone(port, ca, person, pin, size, gate, out):
    """One phone: ask, send and pull for each batch; puts [(step, seconds), ...], errors and first and last moment."""
    times, errors, n, mark = [], 0, 1, 0
    one = client.Client(port, ca)
    one.sign_in(person, pin)
    device = one.json("GET", "/sync/reference")["device"]

    def timed(step, *question):
        start = time.perf_counter()
        answer = one.json(*question)
        times.append((step, time.perf_counter() - start))
        return answer

    gate.wait()
    begun = time.time()
    for _ in range(BATCHES):
        made = batch(device, person, n, size)
        n += size
        try:
            lacking = timed("ask", "POST", "/sync/ask", {"ids": [event["id"] for event in made]})["lacking"]
            verdicts = timed("send", "POST", "/sync/send", {"events": made})["verdicts"]
            errors += len(lacking) != size or any(verdict["verdict"] != "stored" for verdict in verdicts)
            more = True
            while more:
                page = timed("pull", "GET", f"/sync/pull?after={mark}&limit=200")
                mark, more = page["next"], page["more"]
        except (OSError, RuntimeError):
            errors += 1
    out.put((times, errors, begun, time.time()))


def measure_phones(server):
    ca, people = authority(server.data), list(server.people.values())
    rows = []
    for size in SIZES:
        gate, out = multiprocessing.Barrier(PHONES), multiprocessing.Queue()
        crowd = [multiprocessing.Process(target=phone, args=(server.secure_port, ca, people[i % len(people)][0],
                                                             people[i % len(people)][2], size, gate, out))
                 for i in range(PHONES)]
        for one in crowd:
            one.start()
        answers = [out.get(timeout=300) for _ in crowd]
        for one in crowd:
            one.join()
        wall = max(answer[3] for answer in answers) - min(answer[2] for answer in answers)
        times = [pair for answer in answers for pair in answer[0]]
        sends = [seconds for step, seconds in times if step == "send"]
        pulls = [seconds for step, seconds in times if step == "pull"]
        rows.append([size, len(times), f"{len(times) / wall:.0f}", f"{len(sends) * size / wall:.0f}",
                     tables.ms(tables.percentile(sends, 0.5)), tables.ms(tables.percentile(sends, 0.99)),
                     tables.ms(tables.percentile(pulls, 0.5)), sum(answer[1] for answer in answers)])
    tables.show(f"{PHONES} phones syncing at once over HTTPS, {BATCHES} rounds of ask, send, pull each",
                ["entries a batch", "requests", "requests/s", "entries/s", "send p50", "send p99", "pull p50", "errors"], rows,
                ["The phones run on the same machine and take their share of it. No budget is set."])


# A full database

def fill(data: Path, count: int, left_open: int):
    """Add jobs through the store's own door until there are `count`, spread evenly over ten years up to today.

    The first `left_open` stay open, the others are signed.
    """
    db = store.open_database(data / "spanwright.db")
    held = db.execute("SELECT count(*) FROM jobs").fetchone()[0]
    who = db.execute("SELECT id FROM people ORDER BY id").fetchone()[0]
    now = datetime.datetime.now(datetime.timezone.utc)
    n = 1 + 2 * held
    while held < count:
        size = min(CHUNK, count - held)
        at = (now - datetime.timedelta(days=3650 * (1 - (held + size) / MANY))).strftime("%Y-%m-%dT%H:%M:%SZ")
        booked = [dict(batch("office", who, n + i, 1)[0], at=at) for i in range(size)]
        _take(db, booked, at, False)
        heads = dict(db.execute("SELECT id, hash FROM events ORDER BY seq DESC LIMIT ?", [size]).fetchall())
        _take(db, [_signature(event, heads[event["id"]]) for event in booked[left_open:]], at, True)
        left_open = max(0, left_open - size)
        held += size
        n += 2 * size
    db.close()


def _signature(booked, head):
    data = {"head": head, "count": 1, "looked_at": ["belts"], "gaps": "Filled for a measurement.",
            "second_person": False, "sentence": "Filled for a measurement."}
    return dict(booked, id=str(uuid.uuid4()), kind="signed_off", data=data, n=booked["n"] + CHUNK)


def _take(db, made, at, by_server):
    for verdict in store.append(db, made, at, by_server):
        if verdict["verdict"] != "stored":
            raise RuntimeError(verdict["sentence"])


def times_of(one, path):
    start = time.perf_counter()
    status, _headers, _body = one.ask("GET", path)
    if status != 200:
        raise RuntimeError(f"{path} was answered with {status}")
    return time.perf_counter() - start


def measure_sizes(servers):
    """Ask both servers in turn for the same job; `servers`: {count of jobs: running server}."""
    phones = {}
    for count, server in servers.items():
        phones[count] = client.Client(server.secure_port, authority(server.data))
        person, _name, pin = server.people["mara"]
        phones[count].sign_in(person, pin)
    job = screens.job_id("squeal")
    rows = []
    for path in (f"/jobs/{job}", f"/sync/job/{job}", "/jobs"):
        found = {count: [] for count in servers}
        for turn in range(ROUNDS):
            order = list(servers) if turn % 2 else list(servers)[::-1]
            for count in order:
                found[count].append(times_of(phones[count], path))
        few, many = (tables.middle(found[count]) for count in (FEW, MANY))
        rows.append([path.replace(job, "ID"), tables.ms(few), tables.ms(many), f"{many / few:.2f}",
                     "met" if many / few <= 1 + SAME_WITHIN else "MISSED"])
    tables.show(f"The same job among {FEW:,} and among {MANY:,} jobs, medians of {ROUNDS} in turn "
                f"(budget: the same within {SAME_WITHIN:.0%})", ["address", f"{FEW:,}", f"{MANY:,}", "ratio", ""], rows)
    measure_first_pull(phones)


def measure_first_pull(phones):
    rows = []
    for count, one in phones.items():
        start, mark, more, pages, entries, held = time.perf_counter(), 0, True, 0, 0, set()
        while more:
            page = one.json("GET", f"/sync/pull?after={mark}&limit=200")
            mark, more, pages = page["next"], page["more"], pages + 1
            entries += len(page["events"])
            held |= {event["job"] for event in page["events"]}
        rows.append([f"{count:,}", pages, entries, len(held), tables.ms(time.perf_counter() - start)])
    tables.show("A new phone's first pull (open jobs and those closed in the last 30 days)",
                ["jobs in the database", "pages", "entries", "jobs pulled", "time"], rows)


def timed(work, *values):
    start = time.perf_counter()
    work(*values)
    return time.perf_counter() - start


def main():
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for part in ("phones", str(FEW), str(MANY)):
            (folder / part).mkdir()
        data = folder / "phones" / "data"
        build.build(data)
        few, many = folder / str(FEW) / "data", folder / str(MANY) / "data"
        shutil.copytree(data, few)
        fill(few, FEW, OPEN_JOBS)
        shutil.copytree(few, many)
        filling = timed(fill, many, MANY, 0)
        with flow.serving(data) as server:
            measure_phones(server)
        with flow.serving(few) as small, flow.serving(many) as large:
            measure_sizes({FEW: small, MANY: large})
            large.end()
            again = timed(large.start)
        rows = [[f"fill up to {MANY:,} jobs through the store's door", f"{filling:.0f} s"],
                [f"restart with {MANY:,} jobs until it listens", f"{again:.1f} s"]]
        db = store.open_database(many / "spanwright.db")
        rows.append([f"make the lists afresh from the records of {MANY:,} jobs, once after some updates",
                     f"{timed(store.rebuild, db):.0f} s"])
        db.close()
        tables.show("A full database", ["what", "time"], rows)


if __name__ == "__main__":
    main()
