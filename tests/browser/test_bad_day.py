"""A bad day at the bay: wrong numbers, wrong pictures, wrong tags, wrong PINs, a wrong clock, a full phone, another site.

Each time the same: a sentence where it belongs, what was typed still there, nothing wrong recorded.
"""

import contextlib
import http.server
import shutil
import threading

import pytest
from PIL import Image

from tests.browser import flow
from tests.browser.test_worker import fill
from webapp import store


@pytest.fixture(scope="module")
def shared_server(demo_workshop, tmp_path_factory):
    with flow.serving(shutil.copytree(demo_workshop, tmp_path_factory.mktemp("bad_day") / "data")) as server:
        yield server


@pytest.fixture(scope="module")
def shared_phone(chromium, shared_server):
    phone = flow.Hand(chromium.new_context(**flow.PHONE), shared_server)
    phone.sign_in("mara")
    yield phone
    phone.context.close()


@pytest.fixture
def server(shared_server):
    """The workshop of this module, in reach."""
    shared_server.start()
    return shared_server


@pytest.fixture
def phone(shared_phone, server):
    """The technician's phone, with everything sent; for tests that leave it as it was."""
    shared_phone.open("/jobs")
    shared_phone.send_all()
    return shared_phone


@pytest.fixture
def new_phone(chromium, server):
    phone = flow.Hand(chromium.new_context(**flow.PHONE), server)
    phone.sign_in("mara")
    yield phone
    phone.context.close()


def through_the_gate(phone, registration):
    """A job whose drive is known and whose safety questions are answered; without network from then on."""
    job = phone.through_the_gate(registration)
    phone.server.end()
    return job


# Page, fields typed into, the field that is wrong, its sentence.
BAD = [
    ("1/belts/old?step=marking", {"marking": ""}, "marking", "Please fill this in."),
    ("1/belts/old?step=marking", {"marking": "6PK15OO"}, "marking", None),
    ("1/belts/old?step=marking", {"marking": "??? 1500"}, "marking", None),
    ("1/belts/old?step=ribs", {"ribs_counted": "0"}, "ribs_counted", "Expected between 1 and 60."),
    ("1/belts/old?step=ribs", {"ribs_counted": "-6"}, "ribs_counted", "Expected between 1 and 60."),
    ("1/belts/old?step=ribs", {"ribs_counted": "6,5"}, "ribs_counted", "This has to be a whole number."),
    ("1/belts/old?step=ribs", {"ribs_counted": "six"}, "ribs_counted", "Please type a plain number, such as 412.5 or 412,5."),
    ("1/belts/old?step=ribs", {"width": "1e309"}, "width", None),
    ("1/belts/old?step=ribs", {"width": "NaN"}, "width", "Please type a plain number, such as 412.5 or 412,5."),
    ("1/belts/old?step=length", {"taped": "0"}, "taped", "Too low: at least 200 mm."),
    ("1/belts/old?step=length", {"taped": "-1500"}, "taped", "Too low: at least 200 mm."),
    ("1/belts/old?step=length", {"taped": "59.5"}, "taped", "59.5 mm cannot be right here. Did you mean 59.5 in?"),
    ("1/tension/pluck", {"span": "", "length": "300"}, "span", "Please fill this in."),
    ("1/tension/pluck", {"span": "crank to idler", "length": ""}, "length", "Please fill this in."),
    ("1/tension/pluck", {"span": "crank to idler", "length": "Infinity"}, "length",
     "Please type a plain number, such as 412.5 or 412,5."),
    ("1/tension/pluck", {"span": "crank to idler", "length": "11.8"}, "length",
     "11.8 mm cannot be right here. Did you mean 11.8 in?"),
    ("1/target", {"low": "", "high": "-400", "source": "Book"}, "low", "Please fill this in."),
    ("1/target", {"low": "400", "high": "390", "source": "Book"}, "high", None),
    ("0/step/cause", {"text": "   "}, "text", "Please fill this in."),
    ("booking", {"registration": "", "complaint": "Still squeals"}, "registration", "Please fill this in."),
    ("booking", {"vin": "1M8GDM9A"}, "vin", "A VIN has 17 signs; this one has 8."),
    ("booking", {"distance": "12e5x"}, "distance", "Please type a plain number, such as 412.5 or 412,5."),
]


def test_a_wrong_entry_is_told_beside_its_field_and_keeps_what_was_typed(phone):
    job = through_the_gate(phone, "BD 1000")
    for page, typed, field, sentence in BAD:
        phone.open(f"/jobs/{job}/{page}")
        if page == "1/target":
            phone.pick("belt_state", "new")
            phone.pick("kind", "maker")
        phone.fill(**typed)
        with phone.page.expect_response(lambda answer: answer.request.is_navigation_request()) as answer:
            phone.save()
        where = f"{page} {typed}"
        assert answer.value.status == 422, where
        said = phone.page.locator(f"#{field}-error")
        assert said.is_visible() and said.inner_text(), where
        assert sentence is None or said.inner_text() == sentence, where
        for name, text in typed.items():
            assert phone.page.input_value(f"[name={name}]").strip() == text.strip(), where
        assert phone.unsent() == ([], []), where
    assert [event["kind"] for event in phone.server.events(job)].count("belt_recorded") == 0


def test_a_decimal_comma_is_a_number_and_a_reading_that_is_none_is_told(phone):
    job = through_the_gate(phone, "BD 1100")
    phone.open(f"/jobs/{job}/1/belts/old?step=ribs")
    phone.fill(ribs_counted="6", width="21,4")
    phone.save()
    assert phone.unsent()[0][0]["data"]["width"] == {"value": "21.4", "unit": "mm"}
    phone.open(f"/jobs/{job}/1/tension/pluck")
    phone.pick("section", "PK")
    phone.fill(ribs="6")
    phone.pluck("crank to idler", "300", ["100", "101", "99"])
    phone.page.locator("[name=reading]").nth(1).fill("1e309")
    phone.go(".actions [formmethod=post]")
    assert phone.page.locator("#reading-2-error").is_visible()
    assert phone.page.locator("[name=reading]").nth(1).input_value() == "1e309"
    assert len(phone.unsent()[0]) == 1


def test_a_target_that_only_makes_sense_in_pounds_is_asked_about(phone):
    """100 to 120 lbf is 445 to 534 N, usual for six ribs (common practice, no source); 100 to 120 N is not."""
    job = through_the_gate(phone, "BD 1200")
    phone.open(f"/jobs/{job}/1/belts/new")
    phone.fill(marking="6PK1500")
    phone.save()
    phone.open(f"/jobs/{job}/1/target")
    phone.target("100", "120", "Book")
    assert "lbf would not be. Which unit does the data give?" in phone.text()
    assert phone.page.input_value("[name=low]") == "100"
    assert [event["kind"] for event in phone.unsent()[0]] == ["belt_recorded"]
    phone.pick("unit", "lbf")
    phone.save()
    assert phone.unsent()[0][-1]["data"]["low"] == {"value": "100", "unit": "lbf"}


def test_what_is_no_picture_and_a_full_phone_leave_the_card_as_it_is(chromium, server, tmp_path):
    phone = flow.Hand(chromium.new_context(**flow.PHONE), server)
    quota = {"origin": server.url, "quotaSize": 16_000_000}
    session = phone.context.new_cdp_session(phone.page)
    # A quota that comes later is believed only after the browser has forgotten how much room there was.
    session.send("Storage.overrideQuotaForOrigin", quota)
    phone.sign_in("mara")
    job = through_the_gate(phone, "BD 1300")
    text, huge, good = tmp_path / "text.jpg", tmp_path / "huge.jpg", tmp_path / "good.jpg"
    text.write_text("not a picture")
    huge.write_bytes(b"\xff\xd8" + b"\0" * 25_000_001)
    Image.effect_noise((800, 600), 90).convert("RGB").save(good, "JPEG")
    phone.open(f"/jobs/{job}/1/belts/old?step=photo")
    for path, said in ((text, "That is not a picture"), (huge, "That picture is over 25 MB.")):
        phone.page.set_input_files("form[data-photo-slot] input[type=file]", path)
        phone.page.get_by_text(said).wait_for()
        assert phone.unsent() == ([], [])
    for size in (4_000_000, 1_000_000, 100_000):
        while fill(phone, size) == 201:
            pass
    others = phone.unsent()[1]
    phone.page.set_input_files("form[data-photo-slot] input[type=file]", good)
    phone.page.get_by_text("There is no room left on this phone").wait_for()
    assert phone.unsent() == ([], others)
    session.send("Storage.overrideQuotaForOrigin", {"origin": server.url})
    phone.go(phone.page.get_by_role("button", name="Try again"))
    events, names = phone.unsent()
    assert [event["kind"] for event in events] == ["photo_taken"]
    assert sorted(names) == sorted(others + [events[0]["data"]["sha256"]])
    phone.context.close()


# As one maker's browsers write pictures, from memory: Exif without a place, and an image editor's segment.
NOTES = """() => { const real = HTMLCanvasElement.prototype.toBlob;
  const segment = (marker, text) => [0xff, marker, 0, text.length + 2, ...[...text].map((sign) => sign.charCodeAt(0))];
  HTMLCanvasElement.prototype.toBlob = function (done, ...how) { real.call(this, async (blob) => {
    const bytes = new Uint8Array(await blob.arrayBuffer());
    const notes = [...segment(0xe1, "Exif\\0\\0MM\\0*\\0\\0\\0\\x08\\0\\0\\0\\0\\0\\0"),
                   ...segment(0xed, "Photoshop 3.0\\x008BIM\\x04\\x04\\0\\0\\0\\0\\0\\0"), ...segment(0xfe, "a comment")];
    done(new Blob([bytes.subarray(0, 2), new Uint8Array(notes), bytes.subarray(2)], { type: "image/jpeg" })); }, ...how); }; }"""


def test_a_picture_into_which_the_browser_wrote_notes_is_taken_in_without_them(phone, tmp_path):
    good = tmp_path / "good.jpg"
    Image.effect_noise((800, 600), 90).convert("RGB").save(good, "JPEG")
    job = through_the_gate(phone, "BD 1310")
    phone.open(f"/jobs/{job}/1/belts/old?step=photo")
    phone.page.evaluate(NOTES)
    phone.photo(good)
    name = phone.unsent()[1][0]
    phone.server.start()
    phone.sync()
    phone.wait_sent()
    assert flow.stored_photo(phone.server, name)


def test_a_picture_that_the_server_refuses_holds_up_nothing_else(new_phone, chromium):
    phone = new_phone
    job = phone.book("BD 1320", "Squeals when cold")
    assert fill(phone, 300) == 201, "the worker asks only whether the name fits"
    other = flow.Hand(chromium.new_context(**flow.PHONE), phone.server)
    other.sign_in("joost")
    other.open(f"/jobs/{job}/0/step/cause")
    other.tell("Seen by the other phone.")
    other.wait_sent()
    phone.open(f"/jobs/{job}/history")
    phone.sync()
    phone.wait_until("async path => (await (await fetch(path)).text()).includes('Seen by the other phone.')", phone.path())
    phone.wait_until("document.querySelector('#sync').innerText.includes('1 photo refused')")
    assert len(phone.unsent()[1]) == 1
    other.context.close()


def test_an_unknown_and_a_voided_tag_say_what_to_do(phone):
    job = phone.book("BD 1400", "Squeals when cold")
    phone.wait_sent()
    old = [event["data"]["token"] for event in phone.server.events(job) if event["kind"] == "tag_issued"][0]
    phone.server.end()
    phone.open(f"/jobs/{job}/tag")
    phone.press("details summary")
    phone.fill(reason="Oil over it")
    phone.press("button[data-confirm]")
    phone.go("dialog .button-stop")
    events = phone.unsent()[0]
    assert [event["kind"] for event in events] == ["tag_voided", "tag_issued"]
    answer = phone.open("/t/" + old)
    assert answer.status == 404 and "void" in phone.text().lower() and "BD 1400" in phone.text()
    answer = phone.open("/t/" + "0" * 32)
    assert answer.status == 404 and "not a tag of this workshop" in phone.text()
    phone.open("/t/" + events[1]["data"]["token"])
    assert phone.path() == f"/jobs/{job}"
    answer = phone.open("/find?code=K7MA4QX")
    assert answer.status == 422 and phone.page.input_value("[name=code]") == "K7MA4QX"
    assert "This cannot be a code" in phone.page.locator("#code-error").inner_text()
    assert len(phone.unsent()[0]) == 2


# The clock of the worker alone: the server's stays right.
FAST = """() => { const Real = Date;
  globalThis.Date = class extends Real { constructor(...given) { if (given.length) super(...given);
    else super(Real.now() + 2 * 24 * 3600 * 1000); } }; }"""


def test_a_clock_two_days_fast_is_taken_as_it_is_and_orders_nothing(new_phone, chromium):
    phone = new_phone
    phone.context.service_workers[0].evaluate(FAST)
    job = phone.book("BD 1500", "Squeals when cold")
    phone.wait_sent()
    held = phone.server.events(job)
    assert [event["kind"] for event in held] == ["booked_in", "tag_issued"]
    assert held[0]["at"] > held[0]["received"]
    other = flow.Hand(chromium.new_context(**flow.PHONE), phone.server)
    other.sign_in("joost")
    other.open(f"/jobs/{job}/0/step/cause")
    other.tell("Noted after it, by a clock that is right.")
    other.wait_sent()
    assert [event["kind"] for event in phone.server.events(job)][-1] == "step_recorded"
    for hand in (phone, other):
        hand.open("/jobs")
        hand.sync()
        for page in ("", "/history", "/sheet"):
            assert hand.open(f"/jobs/{job}{page}").status == 200
        assert "BD 1500" in hand.text()
    other.context.close()


FORGED = """<!doctype html><form method="post" action="{action}">{fields}</form>
<script>document.forms[0].submit()</script>"""


@contextlib.contextmanager
def another_site():
    """Yield (address, pages): a site under 127.0.0.1, which is another one than localhost; pages by path: (text, policy)."""
    pages = {}

    class Handler(http.server.BaseHTTPRequestHandler):
        def do_GET(self):
            text, policy = pages.get(self.path, ("", "no-referrer"))
            self.send_response(200)
            self.send_header("Content-Type", "text/html")
            self.send_header("Referrer-Policy", policy)
            self.end_headers()
            self.wfile.write(text.encode())

        def log_message(self, *_words):
            pass

    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), Handler) as site:
        threading.Thread(target=site.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{site.server_port}", pages
        site.shutdown()


def test_another_sites_form_changes_nothing_although_a_worker_answers(new_phone):
    """The worker is handed navigations from any site and keeps entries by itself, so it has to be the one to refuse."""
    phone = new_phone
    job = phone.book("BD 1600", "Squeals when cold")
    phone.wait_sent()
    phone.sign_in("ruben")
    before = len(phone.server.events(job))
    forged = {
        f"/jobs/{job}/notes": {"text": "Forged", "handover": "no"},
        "/office/people": {"name": "Eve", "roles": "supervisor", "pin": "1234"},
        "/who": {"person": phone.server.people["mara"][0], "next": "/jobs"},
        "/signout": {},
    }
    with another_site() as (site, pages):
        for path, fields in forged.items():
            hidden = "".join(f'<input name="{name}" value="{value}">' for name, value in fields.items())
            for policy in ("unsafe-url", "no-referrer"):
                pages[f"{path}?{policy}"] = FORGED.format(action=phone.server.url + path, fields=hidden), policy
                with phone.page.expect_response(phone.server.url + path) as answer:
                    phone.page.goto(f"{site}{path}?{policy}")
                assert answer.value.status == 403, (path, policy)
                phone.page.get_by_text("another site").first.wait_for()
    phone.open("/jobs")
    assert "Ruben Halloway" in phone.page.locator(".top-who").inner_text()
    assert phone.unsent() == ([], [])
    assert len(phone.server.events(job)) == before
    phone.open("/signin")
    assert "Eve" not in phone.text()


# The last one: nobody signs in as Ruben after it for a while.
def test_wrong_pins_wait_longer_and_a_restart_does_not_help(phone):
    person = phone.server.people["ruben"][0]

    def attempt(pin):
        phone.open(f"/signin?person={person}")
        phone.fill(pin=pin)
        phone.save()
        return phone.page.locator("#pin-error").inner_text()

    assert attempt("0000") == "That PIN is not right."
    seen = 0
    while seen < 2:
        said = attempt("0000")
        seen += "Too many wrong PINs" in said
    phone.server.end()
    # Twenty wrong ones have already gone by: the wait is at its longest, and outlasts any restart.
    db = store.connect(phone.server.data / "spanwright.db")
    with store.writing(db):
        db.execute("UPDATE pin_tries SET wrong = 20, not_before = 0 WHERE person = ?", [person])
    db.close()
    phone.server.start()
    assert attempt("0000") == "That PIN is not right."
    phone.server.end()
    phone.server.start()
    assert "Too many wrong PINs. Wait" in attempt(phone.server.people["ruben"][2])
    phone.open("/jobs")
    assert "Mara Tiller" in phone.page.locator(".top-who").inner_text()
