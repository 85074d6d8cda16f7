"""Saved drives on phones: recorded and given out without network, on another phone after both were in reach."""

import json
import time

from demo_db import build, jobs
from tests.browser import flow, screens
from webapp.core import drive_file

NAME = "Box van 2.8, from the other workshop"


def listed(phone):
    phone.open("/drives")
    return phone.page.locator("#drives-list .row .row-wait").all_inner_texts()


def test_a_drive_recorded_without_network_reaches_the_other_phone(chromium, demo_copy, tmp_path):
    file = tmp_path / "drive.json"
    file.write_text(jobs.DRIVE_FILE.read_text(encoding="utf-8").replace("Estate 2.0, hydraulic strut", NAME), encoding="utf-8")
    job = screens.job_id("lamp")
    with flow.serving(demo_copy) as server:
        mara = flow.Hand(chromium.new_context(accept_downloads=True, **flow.PHONE), server)
        joost = flow.Hand(chromium.new_context(**flow.PHONE), server)
        mara.sign_in("mara")
        joost.sign_in("joost")
        before = listed(mara)
        # Nine from files and those that stand on the workshop's jobs.
        assert sorted(before) == sorted(listed(joost)) and "Van 2.0 diesel, six ribs" in before and NAME not in before

        server.end()
        record_from_file(mara, job, file)
        assert listed(mara)[0] == NAME and len(listed(mara)) == len(before) + 1
        seek(mara, "box van")
        out = save_as_file(mara, tmp_path)
        assert out["name"] == NAME and out["measured_by"] == "Mara Tiller"
        assert out["drive"] == json.loads(file.read_text(encoding="utf-8"))["drive"]
        assert drive_file.read(json.dumps(out))["name"] == NAME

        server.start()
        mara.sync()
        mara.wait_sent()
        assert listed(mara).count(NAME) == 1
        joost.open("/drives")
        joost.sync()
        # The open list renews itself.
        joost.wait_main(NAME)
        with server.database() as db:
            assert db.execute("SELECT count(*) FROM library WHERE json_extract(content, '$.name') = ?", [NAME]).fetchone()[0] == 1

        server.end()
        joost.open("/drives/" + build.drive_id("van"))
        assert "6 PK 1420" in joost.text()
        joost.open("/drives")
        joost.go(joost.page.locator(".row", has_text=NAME))
        assert "Mara Tiller" in joost.text() and "What the drive tells" in joost.text()
        mara.context.close()
        joost.context.close()


def record_from_file(phone, job, file):
    phone.open(f"/jobs/{job}/1/drive/file")
    phone.page.set_input_files("#chosen", file)
    phone.wait_until("document.querySelector('#text').value.includes('spanwright-drive')")
    phone.pick("shared", "yes")
    # First with a slip in the text: it comes back with everything in it.
    text = phone.page.input_value("#text")
    phone.fill(text=text.replace('"diameter_mm": 150', '"diameter_mm": 1e9'))
    phone.save()
    assert "Pulley 1 (crank), diameter_mm" in phone.text() and "1e9" in phone.page.input_value("#text")
    assert phone.page.is_checked('input[name=shared][value="yes"]')
    phone.fill(text=text)
    phone.save()
    assert phone.path().startswith(f"/jobs/{job}/1/drive") and NAME in phone.text()


def seek(phone, words):
    phone.page.fill("#q", words)
    phone.wait_until("document.querySelectorAll('#drives-list .row').length === 1")
    phone.go("#drives-list .row")
    assert NAME in phone.text()


def save_as_file(phone, folder):
    with phone.page.expect_download() as waiting:
        phone.press(phone.page.locator("a", has_text="Save as a file"))
    path = folder / waiting.value.suggested_filename
    waiting.value.save_as(path)
    assert path.name == "drive-box-van-2-8-from-the-other-workshop.json"
    return json.loads(path.read_text(encoding="utf-8"))


def test_a_phone_from_before_saved_drives_gets_them(chromium, demo_copy):
    """An older version's records have no place for drives; the browser opens them in the new form."""
    with flow.serving(demo_copy) as server:
        context = chromium.new_context(**flow.PHONE)
        phone = flow.Hand(context, server)
        # Not a page: no worker starts and makes the records first.
        phone.open("/version.json")
        phone.page.evaluate("""() => new Promise((done, failed) => {
            const asked = indexedDB.open("spanwright", 1);
            asked.onupgradeneeded = () => {
                const db = asked.result;
                const events = db.createObjectStore("events", { keyPath: "id" });
                events.createIndex("job", "job"); events.createIndex("state", "state");
                const jobs = db.createObjectStore("jobs", { keyPath: "id" });
                jobs.createIndex("token", "tokens", { multiEntry: true }); jobs.createIndex("code", "code");
                db.createObjectStore("photos", { keyPath: "sha256" }).createIndex("state", "state");
                db.createObjectStore("refused", { keyPath: "id" }); db.createObjectStore("meta");
            };
            asked.onsuccess = () => { asked.result.close(); done(); };
            asked.onerror = failed; })""")
        phone.sign_in("mara")
        end = time.monotonic() + 20
        while "Van 2.0 diesel, six ribs" not in listed(phone):
            assert time.monotonic() < end
        assert phone.page.evaluate("document.body.dataset.host") == "phone"
        context.close()
