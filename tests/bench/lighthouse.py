"""Lighthouse's mobile scores of the card, the tension screen and the sheet, for a person who is signed in.

Needs npm. The first visit is measured: Lighthouse empties the browser's storage before each page, so the server
answers and the worker installs meanwhile.
"""

import json
import os
import shutil
import subprocess
import tempfile
from pathlib import Path

from demo_db import build
from tests.bench import client, tables
from tests.browser import flow, screens
from tests.conftest import CHROMIUM, FLAGS

VERSION = "12.2.3"
CATEGORIES = ["performance", "accessibility", "best-practices"]
BUDGET = 95
PAGES = [("card", "/jobs/{job}"), ("tension screen", "/jobs/{job}/1/tension"), ("sheet", "/jobs/{job}/sheet")]
JOBS = ["squeal", "manual"]


def install(folder: Path) -> Path:
    """Install Lighthouse into a folder; return its command."""
    subprocess.run(["npm", "install", "--silent", "--no-fund", "--no-audit", "--prefix", str(folder),
                    f"lighthouse@{VERSION}"], check=True)
    return folder / "node_modules" / ".bin" / "lighthouse"


def run(command: Path, url: str, cookie: str, out: Path) -> dict:
    """Return Lighthouse's report of one page."""
    subprocess.run([str(command), url, "--quiet", "--output=json", f"--output-path={out}",
                    "--only-categories=" + ",".join(CATEGORIES), "--extra-headers=" + json.dumps({"Cookie": cookie}),
                    "--chrome-flags=--headless=new " + " ".join(FLAGS)],
                   check=True, env=dict(os.environ, CHROME_PATH=CHROMIUM))
    return json.loads(out.read_text())


def losses(report: dict) -> list:
    """Return [(category, audit, what), ...] for every audit that costs points."""
    found = []
    for category in CATEGORIES:
        for part in report["categories"][category]["auditRefs"]:
            audit = report["audits"][part["id"]]
            if part["weight"] and audit["score"] is not None and audit["score"] < 1:
                found.append((category, part["id"], audit.get("displayValue") or audit["title"]))
    return found


def main():
    if shutil.which("npm") is None:
        print("\nNOT MEASURED: Lighthouse comes by npm, which is missing here.\n")
        return
    rows, lost = [], []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        command = install(folder / "npm")
        build.build(folder / "data")
        with flow.serving(folder / "data") as server:
            phone = client.Client(server.port)
            person, _name, pin = server.people["ruben"]
            phone.sign_in(person, pin)
            for job in JOBS:
                for title, path in PAGES:
                    report = run(command, server.url + path.replace("{job}", screens.job_id(job)), phone.cookie,
                                 folder / "report.json")
                    scores = [round(report["categories"][category]["score"] * 100) for category in CATEGORIES]
                    rows.append([f"{title}, {job}", *scores, "met" if min(scores) >= BUDGET else "MISSED"])
                    lost += [[f"{title}, {job}", *loss] for loss in losses(report)]
    tables.show(f"Lighthouse {VERSION}, mobile (budget: {BUDGET} each)", ["page", *CATEGORIES, "budget"], rows)
    if lost:
        tables.show("What costs points", ["page", "category", "audit", "finding"], lost)


if __name__ == "__main__":
    main()
