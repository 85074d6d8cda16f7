"""Hearing plucks in a browser: a sound file as the microphone, without network, from the tap to the verdict; and when it goes wrong."""

import array
import base64
import functools
import io
import shutil
import wave

import numpy
import pytest

from tests import plucks
from tests.browser import flow, screens
from tests.conftest import CHROMIUM, FLAGS, AppServer
from webapp.core import numbers, pluck

JOB = screens.job_id("two_belts")
SETUP = ("?span=Crank+to+pump&length=300&length_unit=mm&length_error=2&length_error_unit=mm&section=PK&ribs=6"
         "&engine_temperature=cold&step=read")
READINGS = f"/jobs/{JOB}/1/tension/pluck{SETUP}"
TRUE_HZ = 70.0
STATE = "document.querySelector('[data-listen]').dataset.state"
VALUES = "[...document.querySelectorAll('#readings input')].map((input) => input.value)"

# A microphone made in the page, so that it can misbehave: silence, or a tone as loud as asked for.
OWN_MICROPHONE = """([loudness, granted]) => {
    navigator.mediaDevices.getUserMedia = async () => {
        const context = new AudioContext();
        const tone = new OscillatorNode(context, { frequency: 80 });
        const out = new MediaStreamAudioDestinationNode(context);
        tone.connect(window.volume = new GainNode(context, { gain: loudness })).connect(out);
        tone.start();
        window.track = out.stream.getAudioTracks()[0];
        window.track.getSettings = () => granted;
        return out.stream; }; }"""
RAW = {"echoCancellation": False, "noiseSuppression": False, "autoGainControl": False}


def sound_file(path):
    """Write three plucks of one span, as tests/plucks.py makes them, with quiet between."""
    samples = array.array("h")
    for seed in (9100, 9101, 9102):
        samples += plucks.make_take(seed, snr_db=20, noise="pink", thumps=0, duration=2.6, belt={"f1": TRUE_HZ, "B": 0.004},
                                    mic={"agc": False, "peak_dbfs": -12}).samples
    path.write_bytes(plucks.Take(8000, samples, {}).wav_bytes())
    return path


@pytest.fixture(scope="module")
def hearing(playwright, tmp_path_factory):
    """A browser whose microphone plays the plucks again and again."""
    sound = sound_file(tmp_path_factory.mktemp("sound") / "plucks.wav")
    browser = playwright.chromium.launch(executable_path=CHROMIUM, args=[
        *FLAGS, "--use-fake-device-for-media-stream", f"--use-file-for-fake-audio-capture={sound}"])
    yield browser
    browser.close()


@pytest.fixture(scope="module")
def desk(hearing, demo_workshop, tmp_path_factory):
    """A browser without a service worker; nobody allowed the microphone."""
    server = AppServer(shutil.copytree(demo_workshop, tmp_path_factory.mktemp("listen") / "data"))
    server.start()
    context = hearing.new_context(**flow.PHONE, service_workers="block")
    hand = flow.Hand(context, server)
    hand.sign_in_at_server("mara")
    yield hand
    context.close()
    server.stop()


def wait_state(hand, state):
    hand.wait_until("state => " + STATE + " === state", state)


def heard_so_far(hand):
    return [float(value) for value in hand.page.evaluate(VALUES) if value]


def test_a_phone_without_network_hears_three_plucks_and_judges_the_tension(hearing, app_server):
    phone = flow.Hand(hearing.new_context(**flow.PHONE, permissions=["microphone"]), app_server)
    phone.sign_in("mara")
    phone.wait_ready()
    app_server.stop()
    status, text = phone.fetch(f"/jobs/{JOB}/1/target", {
        "belt_state": "used", "kind": "maker", "low": "100", "high": "400", "unit": "N", "source": "Maker's data"})
    assert status == 200, text
    phone.open(READINGS)
    phone.press("[data-listen-start]")
    phone.wait_until(VALUES + ".filter(Boolean).length === 1")
    assert phone.page.is_visible("progress")
    # A page that is loaded again keeps what was heard.
    heard = heard_so_far(phone)
    phone.page.reload()
    assert heard_so_far(phone) == heard
    phone.press("[data-listen-start]")
    wait_state(phone, "count-3")
    heard = heard_so_far(phone)
    # The truth is the generator's own; its plucks stray by 0.08 % and pull the pitch up by as much as 1 %.
    assert len(heard) == 3 and all(abs(hz / TRUE_HZ - 1) < 0.015 for hz in heard), heard
    assert not phone.page.is_visible("progress")
    assert "Hz with 95 %" in phone.text() and "synthetic" in phone.text()
    phone.page.click("summary:text('Show the sound')")
    assert phone.page.locator("[data-listen-line]").bounding_box()["height"] > 40
    assert "Used for the answer: " in phone.text()
    phone.press("[data-listen-play]")
    phone.wait_main("Inside the target")
    assert screens.violations(phone.page) == [] and screens.wrong_sizes(phone.page) == []
    phone.press("label:has([data-listen-keep])")
    phone.save()
    assert phone.path() == f"/jobs/{JOB}/1/tension"
    assert "Inside the target" in phone.text()
    listens_to_what_is_kept(phone)

    entries, names = phone.unsent()
    data = entries[-1]["data"]
    # The microphone's file begins anew after the reload, so that two sounds may be the very same bytes.
    assert len(data["sounds"]) == 3 and all(data["sounds"]) and set(data["sounds"]) == set(names)
    app_server.start()
    phone.send_all()
    assert all(flow.stored_photo(app_server, name, "sound") for name in names)
    for reading, name in zip(data["readings"], data["sounds"], strict=True):
        with wave.open(str(app_server.data / "sounds" / name[:2] / (name + ".wav"))) as file:
            rate = file.getframerate()
            # Microphones at 48 and at 44.1 kHz.
            assert (file.getnchannels(), file.getsampwidth()) == (1, 2) and rate in (8000, 8820) and file.getnframes() <= 3 * rate
            samples = array.array("h", file.readframes(file.getnframes()))
        # What is kept is what was judged: heard again, it gives the reading that stands in the record.
        found = pluck.listen(list(samples), rate, None)
        assert numbers.with_interval(found["hz"], found["low_hz"], found["high_hz"])[0] == reading
    phone.context.close()


def listens_to_what_is_kept(hand):
    """Tap the sounds of the reading just saved, and of its lines in the history and on the sheet."""
    for path in (hand.path(), f"/jobs/{JOB}/history", f"/jobs/{JOB}/sheet"):
        hand.open(path)
        hand.page.evaluate("""() => { const { start } = AudioBufferSourceNode.prototype;
            AudioBufferSourceNode.prototype.start = function () { window.played = this.buffer.duration; start.call(this); }; }""")
        hand.press(hand.page.locator("[data-play]").first)
        hand.wait_until("window.played > 1 && window.played < 3")
        assert not hand.page.is_visible("[data-play] ~ .error")


TAKES = """([texts, file]) => sessionStorage.setItem("takes", JSON.stringify({
    page: document.getElementById("read").getAttribute("action"), all: texts.map((text) => [text, file]) }))"""


def with_takes(desk, *texts):
    """Open the readings page as it is when these values were heard; a sound is of its length only."""
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setparams((1, 2, 8000, 0, "NONE", ""))
        file.writeframes(bytes(range(200)) * 100)
    desk.open(READINGS)
    desk.page.evaluate(TAKES, [list(texts), base64.b64encode(out.getvalue()).decode()])
    desk.open(READINGS + "".join(f"&reading={text}" for text in ("70.2", "70.1", "70.4")))


def answered(status, route):
    route.fulfill(status=status)


def test_sounds_are_kept_only_when_asked_for_and_when_there_is_room(desk):
    target = {"belt_state": "used", "kind": "maker", "low": "100", "high": "400", "unit": "N", "source": "Maker's data"}
    assert desk.fetch(f"/jobs/{JOB}/1/target", target)[0] == 200
    desk.open(READINGS)
    assert not desk.page.is_visible("[data-listen-keeping]")
    with_takes(desk, "70.2", "70.1", "99.9")
    assert desk.page.is_visible("[data-listen-keeping]") and not desk.page.is_checked("[data-listen-keep]")
    desk.save()
    assert desk.page.locator("[data-play]").count() == 0, "not asked for"

    with_takes(desk, "70.2", "70.1", "99.9")
    desk.press("label:has([data-listen-keep])")
    for status, words in ((507, "There is no room for the sounds on this phone."), (401, "this device is not signed in"),
                          (422, "The sounds were not taken in."), (500, "no answer from the workshop")):
        desk.context.route("**/sounds/**", functools.partial(answered, status))
        desk.press(".actions .button-main")
        desk.wait_main(words)
        desk.context.unroute("**/sounds/**")
        assert heard_so_far(desk) == [70.2, 70.1, 70.4] and "the reading alone" in desk.text()
    desk.save()
    assert desk.page.locator("article:first-of-type [data-play]").count() == 2, "the third was typed"
    # The tick is remembered, and the sounds of another reading are not.
    desk.open(READINGS + "&reading=70.2&reading=70.1&reading=70.4")
    assert desk.page.is_checked("[data-listen-keep]")
    desk.page.evaluate("localStorage.clear()")

    desk.fetch(f"/jobs/{JOB}/1/tension/pluck", [*[pair.split("=") for pair in SETUP[1:].replace("+", " ").split("&")], ["reading", "70"],
                                                ["reading", "71"], ["reading", "72"], ["sound", "70 " + "0" * 64]])
    desk.open(f"/jobs/{JOB}/1/tension")
    desk.press(desk.page.locator("[data-play]").first)
    desk.wait_main("This sound is not on this phone, and the workshop does not answer.")


def test_a_refused_microphone_says_so_and_typing_goes_on(desk):
    desk.open("/sums/span" + SETUP + "&method=pluck")
    desk.press("[data-listen-start]")
    wait_state(desk, "denied")
    assert "Allow it in the browser's settings for this page, or type the frequency." in desk.text()
    desk.page.fill("#reading-1", "70.2")
    desk.wait_main("136 to 216 N with 95 %")
    assert screens.violations(desk.page) == []


@pytest.mark.parametrize(("name", "state", "words"), [
    ("NotFoundError", "none", "No microphone was found."), ("NotReadableError", "busy", "Another app is using the microphone."),
    ("AbortError", "busy", "Close it and tap Listen again"), ("NotSupportedError", "old", "This browser cannot give raw sound."),
    ("TypeError", "not-started", "Listening could not be started.")])
def test_every_refusal_has_its_sentence(desk, name, state, words):
    desk.open(READINGS)
    desk.page.fill("#reading-1", "70.2")
    desk.page.evaluate("""name => { navigator.mediaDevices.getUserMedia = async () => { throw new DOMException("", name); }; }""", name)
    desk.press("[data-listen-start]")
    wait_state(desk, state)
    assert words in desk.text() and "type the frequency." in desk.text().lower()
    assert heard_so_far(desk) == [70.2] and desk.page.is_visible("[data-listen-start]")


def test_a_microphone_that_fails_while_listening_is_told_and_nothing_is_lost(desk):
    desk.open(READINGS)
    desk.page.fill("#reading-1", "70.2")
    desk.page.evaluate(OWN_MICROPHONE, [0, RAW])
    desk.press("[data-listen-start]")
    wait_state(desk, "listening")
    assert not desk.page.is_visible("[data-listen-doubt]")
    wait_state(desk, "silent")
    # Far too loud, and no pluck at all.
    desk.page.evaluate("volume.gain.value = 40")
    wait_state(desk, "declined")
    assert "too loud for the microphone" in desk.text() and desk.page.is_visible("[data-listen-loud]")
    desk.page.evaluate("track.dispatchEvent(new Event('mute'))")
    wait_state(desk, "muted")
    desk.page.evaluate("track.dispatchEvent(new Event('unmute'))")
    wait_state(desk, "listening")
    desk.page.evaluate("track.dispatchEvent(new Event('ended'))")
    wait_state(desk, "ended")
    assert desk.page.evaluate("track.readyState") == "ended" and heard_so_far(desk) == [70.2]

    desk.page.evaluate(OWN_MICROPHONE, [0.01, {"echoCancellation": False, "noiseSuppression": True}])
    desk.press("[data-listen-start]")
    desk.wait_main("The browser still changes the sound: noise suppression.")
    desk.page.evaluate("""Object.defineProperty(document, "hidden", { value: true, configurable: true });
                          document.dispatchEvent(new Event("visibilitychange")); delete document.hidden;""")
    wait_state(desk, "hidden")
    # A setting that is not reported is unknown, not off.
    desk.page.evaluate(OWN_MICROPHONE, [0.01, {"echoCancellation": False}])
    desk.press("[data-listen-start]")
    desk.wait_main("The browser does not say whether it changes the sound.")
    desk.press("[data-listen-start]")
    wait_state(desk, "stopped")
    # No pluck for a minute: the battery and whoever talks nearby are spared.
    desk.press("[data-listen-start]")
    wait_state(desk, "listening")
    desk.page.evaluate("{ const now = performance.now(); performance.now = () => now + 61_000; }")
    wait_state(desk, "rest")
    assert desk.page.evaluate("track.readyState") == "ended"


# A microphone that plays what it is given, again and again.
PLAYED = """([samples, granted]) => {
    navigator.mediaDevices.getUserMedia = async () => {
        const context = new AudioContext();
        const buffer = context.createBuffer(1, samples.length, 8000);
        buffer.copyToChannel(Float32Array.from(samples, (sample) => sample / 32768), 0);
        const out = new MediaStreamAudioDestinationNode(context);
        const source = new AudioBufferSourceNode(context, { buffer, loop: true });
        source.connect(window.volume = new GainNode(context)).connect(out);
        source.start();
        out.stream.getAudioTracks()[0].getSettings = () => granted;
        return out.stream; }; }"""


def test_a_fan_is_declined_and_a_finger_on_the_microphone_is_asked_about(desk):
    desk.open(READINGS)
    desk.page.fill("#reading-1", "70.2")
    # Not music: now and then a note of it is taken for a pluck (tests/bench/RESULTS.md), and where it is cut here is chance.
    fan = plucks.make_take(9200, kind="negative", negative="fan", duration=3.0)
    desk.page.evaluate(PLAYED, [list(fan.samples), RAW])
    desk.press("[data-listen-start]")
    wait_state(desk, "listening")
    # It is switched on.
    desk.page.evaluate("volume.gain.value = 0.03")
    desk.page.wait_for_timeout(2000)
    desk.page.evaluate("volume.gain.value = 1")
    wait_state(desk, "declined")
    assert heard_so_far(desk) == [70.2] and "pluck" in desk.page.inner_text("[data-listen-state]").lower()
    # The sound that was declined can be listened to.
    desk.page.evaluate("""() => { const { start } = AudioBufferSourceNode.prototype;
        AudioBufferSourceNode.prototype.start = function () { window.played = this.buffer.duration; start.call(this); }; }""")
    desk.press("[data-listen-play]")
    desk.wait_until("window.played > 1.5 && window.played < 3")
    wait_state(desk, "stopped")
    desk.press("[data-listen-start]")
    desk.wait_until("window.volume !== undefined && " + STATE + " !== 'starting'")
    desk.page.evaluate("volume.gain.value = 0.0005")
    desk.page.evaluate("{ const now = performance.now.bind(performance); performance.now = () => now() + 11_000; }")
    wait_state(desk, "weak")
    assert "Take fingers and case off the microphone" in desk.text() and desk.page.is_enabled("#reading-1")
    desk.press("[data-listen-start]")
    wait_state(desk, "stopped")


def test_a_sum_that_cannot_start_and_a_slow_microphone_are_told(desk):
    desk.context.route("**/core.bin", lambda route: route.abort())
    desk.open(READINGS)
    desk.page.evaluate(OWN_MICROPHONE, [0.01, RAW])
    desk.press("[data-listen-start]")
    wait_state(desk, "listening")
    desk.page.wait_for_timeout(1500)
    desk.page.evaluate("volume.gain.value = 0.5")
    wait_state(desk, "not-started")
    assert "A new phone needs the workshop network once." in desk.text()
    desk.context.unroute("**/core.bin")
    desk.page.evaluate("() => { globalThis.AudioContext = class extends AudioContext { constructor() { super({ sampleRate: 4000 }); } }; }")
    desk.press("[data-listen-start]")
    wait_state(desk, "rate")
    assert desk.page.is_visible("[data-listen-start]") and not desk.page.is_visible("progress")


def test_a_browser_that_cannot_give_raw_sound_says_so_at_once(desk):
    desk.context.add_init_script("if (location.hash === '#old') delete globalThis.AudioWorkletNode")
    desk.page.goto("about:blank")
    desk.open(READINGS + "#old")
    wait_state(desk, "old")
    assert not desk.page.is_visible("[data-listen-start]") and "cannot give raw sound" in desk.text()
    desk.open(READINGS.replace("/pluck", "/press") + "&force=25&force_unit=N")
    assert desk.page.locator("[data-listen]").count() == 0


@pytest.mark.outside("NumPy")
@pytest.mark.parametrize(("rate", "step"), [(48000, 6), (44100, 5), (8000, 1), (22050, 2)])
def test_fewer_samples_sound_the_same_below_1500_hz(desk, rate, step):
    desk.open(READINGS)
    time = numpy.arange(rate) / rate
    tones = [60.0, 700.0, 1500.0]
    # What lies as far above the new rate as 500 Hz would otherwise sound like it.
    sound = sum(0.2 * numpy.sin(2 * numpy.pi * hz * time) for hz in tones)
    if step > 1:
        sound = sound + 0.2 * numpy.sin(2 * numpy.pi * (rate / step - 500) * time)
    out = desk.page.evaluate("""async ([samples, rate]) => {
        const { lowered } = await import("/static/js/listen.js");
        return lowered(new Float32Array(samples), rate); }""", [sound.tolist(), rate])
    assert out["rate"] == rate / step
    got = numpy.array(out["samples"]) / 32768
    window = numpy.hanning(len(got))
    there = numpy.arange(len(got)) / out["rate"]
    levels = [2 * abs(numpy.sum(got * window * numpy.exp(-2j * numpy.pi * hz * there))) / window.sum() for hz in [*tones, 500.0]]
    assert numpy.allclose(levels[:3], 0.2, rtol=0.01) and levels[3] < 0.002, levels
