"""A phone whose storage is full: it says so, its own entries are kept and sent, the old stock list stays; with room all comes in."""

from tests.browser import flow
from tests.browser.test_parts_runner import LIST
from tests.host.test_stock import long_list, made
from webapp import stock, store

QUOTA = 16_000_000
# Another database of the same address, filled to the last kilobyte with what does not pack.
FILL = """async () => {
  const db = await new Promise((done) => {
    const asked = indexedDB.open("filler");
    asked.onupgradeneeded = () => asked.result.createObjectStore("rows", { autoIncrement: true });
    asked.onsuccess = () => done(asked.result);
  });
  const put = (size) => new Promise((done) => {
    const row = new Uint8Array(size);
    for (let i = 0; i < size; i += 65536) crypto.getRandomValues(row.subarray(i, Math.min(i + 65536, size)));
    const tx = db.transaction("rows", "readwrite");
    tx.oncomplete = () => done(true);
    tx.onabort = () => done(false);
    tx.objectStore("rows").put(row);
  });
  for (const size of [1000000, 100000, 10000, 1000]) while (await put(size)) { /* more */ }
  db.close();
}"""
EMPTY = "() => new Promise((done) => { indexedDB.deleteDatabase('filler').onsuccess = () => done(true); })"


def put_in_force(data, body):
    db = store.connect(data / "spanwright.db")
    stock.hold(db, "list.csv", body, "", "2026-03-09T08:05:00Z")
    stock.put_in_force(db, "", "2026-03-09T08:06:00Z")
    db.close()


def knows(phone, job, number):
    return "Stock list: " in phone.fetch(f"/jobs/{job}/1/parts/belt?hand={number}")[1]


def test_a_full_phone_sends_what_it_holds_and_says_what_does_not_come_in(chromium, demo_copy):
    put_in_force(demo_copy, LIST)
    with flow.serving(demo_copy) as server:
        phone = flow.Hand(chromium.new_context(**flow.PHONE), server)
        # A quota that comes later is believed only after the browser has forgotten how much room there was.
        session = phone.context.new_cdp_session(phone.page)
        session.send("Storage.overrideQuotaForOrigin", {"origin": server.url, "quotaSize": QUOTA})
        phone.sign_in("sunna")
        phone.wait_ready()
        job = phone.book("FULL 1", "Squeals")
        phone.send_all()
        phone.wait_until("async address => (await (await fetch(address)).text()).includes('Stock list: ')",
                         f"/jobs/{job}/1/parts/belt?hand=VR-6%201510")
        server.end()
        assert phone.fetch(f"/jobs/{job}/notes", {"text": "Said before the phone was full"})[0] == 200
        phone.page.evaluate(FILL)
        put_in_force(demo_copy, made(rows=long_list(3_000)))
        server.start()

        phone.open("/outbox")
        phone.sync()
        phone.wait_until("document.querySelector('#sync').innerText.includes('Storage full')")
        phone.open("/outbox")
        assert "The storage of this phone is full" in phone.text() and "Delete other apps" in phone.text()
        assert [event["data"]["text"] for event in server.events(job) if event["kind"] == "note_added"] == ["Said before the phone was full"]
        assert knows(phone, job, "VR-6 1510") and not knows(phone, job, "P-000007"), "the old list stays until the new one is whole"

        assert phone.page.evaluate(EMPTY)
        phone.press(phone.page.locator("[data-sync-now]").last)
        phone.wait_until("async address => (await (await fetch(address)).text()).includes('Stock list: ')",
                         f"/jobs/{job}/1/parts/belt?hand=P-002999")
        assert not knows(phone, job, "VR-6 1510")
        phone.send_all()
        phone.wait_sent()
        assert len([event for event in server.events(job) if event["kind"] == "note_added"]) == 1 and server.faults() == []
        phone.context.close()
