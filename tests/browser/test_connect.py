"""Connecting a phone, in a real browser: before the authority is trusted, after a click through the warning, after."""

import base64
import hashlib
import io

import pytest
import zxingcpp
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from PIL import Image
from playwright.sync_api import Error

from tests.conftest import CHROMIUM, FLAGS

PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True}
MEDIA = ["--use-fake-device-for-media-stream"]


@pytest.fixture
def page(chromium):
    context = chromium.new_context(**PHONE)
    yield context.new_page()
    context.close()


def states(page):
    page.wait_for_selector("html[data-checked]", timeout=30_000)
    return {row.get_attribute("data-check"): row.get_attribute("data-state") for row in page.query_selector_all("[data-check]")}


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_codes_on_the_page_lead_to_the_addresses_under_them(chromium, app_server, scheme):
    context = chromium.new_context(viewport={"width": 1000, "height": 900}, color_scheme=scheme)
    page = context.new_page()
    page.goto(app_server.url + "/connect")
    page.evaluate("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
    # zxing-cpp reads what is on the screen, in both colour schemes.
    found = [zxingcpp.read_barcodes(Image.open(io.BytesIO(code.screenshot())))[0].text for code in page.query_selector_all(".qr")]
    assert found == [app_server.origin.connect_url, app_server.https_url + "/connect/check"]
    context.close()


def test_the_page_fits_a_phone_and_its_buttons_a_thumb(page, app_server):
    page.goto(app_server.url + "/connect")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    for button in page.query_selector_all(".button-main"):
        box = button.bounding_box()
        assert box["width"] >= 126 and box["height"] >= 76


def test_before_the_authority_is_trusted_the_secure_address_is_refused(page, app_server):
    with pytest.raises(Error, match="ERR_CERT_AUTHORITY_INVALID"):
        page.goto(app_server.https_url + "/connect/check")


def test_clicking_through_the_warning_is_not_enough_and_the_page_says_so(chromium, app_server):
    context = chromium.new_context(**PHONE, ignore_https_errors=True)
    page = context.new_page()
    page.goto(app_server.https_url + "/connect/check")
    assert states(page)["worker"] == "bad"
    assert "not switched to trusted" in page.inner_text("[data-check=worker]")
    assert page.inner_text("[data-verdict]") == "One thing is missing."
    context.close()


def test_a_phone_that_trusts_the_authority_is_ready(playwright, app_server, tmp_path):
    # Trust in this one key, since the system's own list of authorities is not ours to change in a test.
    leaf = x509.load_pem_x509_certificate(app_server.certificates.server_file.read_bytes())
    key = leaf.public_key().public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)
    pin = base64.b64encode(hashlib.sha256(key).digest()).decode()
    context = playwright.chromium.launch_persistent_context(
        tmp_path / "profile", executable_path=CHROMIUM, **PHONE,
        args=FLAGS + MEDIA + [f"--ignore-certificate-errors-spki-list={pin}"])
    page = context.pages[0]
    page.goto(app_server.https_url + "/connect/check")
    found = states(page)
    assert [found[name] for name in ("secure", "worker", "camera", "microphone")] == ["ok"] * 4
    assert page.inner_text("[data-verdict]") == "This phone is ready."
    assert page.evaluate("navigator.serviceWorker.controller !== null || navigator.serviceWorker.ready.then((r) => r.active !== null)")
    context.close()


def test_on_this_machine_the_check_works_without_a_certificate(page, app_server):
    page.goto(app_server.url + "/connect/check")
    found = states(page)
    assert (found["secure"], found["worker"]) == ("ok", "ok")
