"""Signing in, the growing wait after wrong PINs, and what a device that is not the workshop's gets to see."""

import re
import threading

import pytest
from conftest import AT, PIN

from webapp import auth, devices, people, store
from webapp.core import routes, words
from webapp.core.errors import CoreError


def try_pin(path, person, pin, now):
    """One try on a connection of its own, as after a restart."""
    db = store.open_database(path)
    try:
        people.check_pin(db, person, pin, now)
        return "right"
    except CoreError as error:
        return error.code + error.values.get("seconds", "")
    finally:
        db.close()


@pytest.fixture
def anna(db):
    return people.add(db, "Anna", ["technician"], PIN, "", AT)


def test_the_wait_doubles_with_each_wrong_pin_and_survives_a_restart(path, anna):
    assert "wrong-pin" == try_pin(path, anna, "0000", 1000.0)
    assert "wait-for-pin1" == try_pin(path, anna, PIN, 1000.5)
    assert "wrong-pin" == try_pin(path, anna, "0000", 1001.0)
    assert "wait-for-pin1" == try_pin(path, anna, PIN, 1002.5)
    assert "wrong-pin" == try_pin(path, anna, "0000", 1003.0)
    assert "wait-for-pin4" == try_pin(path, anna, PIN, 1003.5)
    assert "right" == try_pin(path, anna, PIN, 1007.0)
    assert "wrong-pin" == try_pin(path, anna, "0000", 1007.0)
    assert "right" == try_pin(path, anna, PIN, 1008.0)


def test_the_wait_is_capped_even_when_the_clock_is_set_back(path, anna):
    now = 1000.0
    for _ in range(40):
        assert "wrong-pin" == try_pin(path, anna, "0000", now)
        now += people.LONGEST_WAIT
    assert f"wait-for-pin{people.LONGEST_WAIT + 1}" == try_pin(path, anna, PIN, 5.0)


def test_one_person_waiting_leaves_the_others_alone(db, path, anna):
    bodo = people.add(db, "Bodo", ["supervisor"], "1234", "", AT)
    assert "wrong-pin" == try_pin(path, anna, "0000", 1000.0)
    assert "right" == try_pin(path, bodo, "1234", 1000.1)


def test_right_pins_at_once_all_pass_and_wrong_ones_at_once_count_as_one(path, anna):
    def try_at_once(pin):
        found = []
        threads = [threading.Thread(target=lambda: found.append(try_pin(path, anna, pin, 1000.0))) for _ in range(6)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        return sorted(found)

    assert ["right"] * 6 == try_at_once(PIN)
    assert ["wait-for-pin2"] * 5 + ["wrong-pin"] == try_at_once("0000")


@pytest.mark.parametrize("pin", ["", "123", "12 4", "abcd", "1" * 13, "١٢٣٤"])
def test_a_pin_is_four_to_twelve_digits(db, pin):
    with pytest.raises(CoreError, match="bad-pin"):
        people.add(db, "Dora", ["parts"], pin, "", AT)


def test_neither_pin_nor_cookie_is_stored_as_such(workshop):
    client = workshop.client("Anna")
    secret = client.get_cookie(devices.COOKIE).value
    kept = b"".join(file.read_bytes() for file in workshop.folder.glob("spanwright.db*"))
    assert secret.encode() not in kept
    assert b"$argon2id$" in kept
    assert 43 == len(secret)


def test_the_cookie_is_for_the_server_alone(workshop):
    answer = workshop.app.test_client().post("/signin", data={"person": workshop.people["Anna"], "pin": PIN},
                                             base_url="https://localhost")
    cookie = answer.headers["Set-Cookie"]
    assert "HttpOnly" in cookie and "SameSite=Lax" in cookie and "Secure" in cookie
    plain = workshop.app.test_client().post("/signin", data={"person": workshop.people["Anna"], "pin": PIN})
    assert "Secure" not in plain.headers["Set-Cookie"]


def test_a_wrong_pin_answers_beside_the_field_then_asks_to_wait(workshop):
    client = workshop.app.test_client()
    form = {"person": workshop.people["Anna"], "pin": "0000", "next": "/jobs"}
    first, second = client.post("/signin", data=form), client.post("/signin", data=form)
    assert (422, 422) == (first.status_code, second.status_code)
    assert words.ERRORS["wrong-pin"] in first.text
    assert re.search(r"Wait \d+ s, then try again", second.text)
    assert "Set-Cookie" not in first.headers


@pytest.mark.parametrize("person", ["nobody", "", "' OR 1=1 --"])
def test_an_unknown_person_is_refused_plainly(workshop, person):
    answer = workshop.app.test_client().post("/signin", data={"person": person, "pin": PIN})
    assert 422 == answer.status_code
    assert words.ERRORS["wrong-pin"] in answer.text


@pytest.mark.parametrize("goto", ["https://evil.example/", "//evil.example/", "/\\evil.example", "javascript:alert(1)"])
def test_signing_in_leads_nowhere_else(workshop, goto):
    answer = workshop.app.test_client().post("/signin", data={"person": workshop.people["Anna"], "pin": PIN,
                                                              "next": goto})
    assert "/jobs" == answer.headers["Location"]


def filled(pattern):
    return re.sub(r"\{[^}]*\}", "x", pattern)


def test_an_unknown_device_sees_nothing_of_the_table(workshop):
    client = workshop.app.test_client()
    for method, pattern, *_ in routes.TABLE:
        answer = client.open(filled(pattern), method=method)
        assert (303, True) == (answer.status_code, answer.headers["Location"].startswith("/signin?next=")), pattern


def test_an_unknown_device_sees_nothing_else_either(workshop):
    client = workshop.app.test_client()
    opened = []
    for rule in workshop.app.url_map.iter_rules():
        method = "GET" if "GET" in rule.methods else sorted(rule.methods - {"OPTIONS"})[0]
        path = re.sub(r"<[^>]*>", "x", rule.rule)
        answer = client.open(path, method=method)
        if not answer.headers.get("Location", "").startswith("/signin") and answer.status_code not in (401, 403):
            opened.append(rule.endpoint.split(".")[0])
        answer.close()
    assert {"auth", "build", "connect", "static"} == set(opened)


def test_scripts_get_a_plain_answer(workshop):
    for path in ("/sync/reference", "/sync/pull", "/photos/" + "a" * 64):
        answer = workshop.app.test_client().get(path)
        assert (401, "sign-in") == (answer.status_code, answer.json["code"])


@pytest.mark.parametrize("page", ["http://localhost/jobs?mine=1", "http://[", "", "http://localhost//evil.example"])
def test_a_fragment_asked_for_without_a_person_sends_the_whole_page_to_sign_in(workshop, page):
    headers = {"HX-Request": "true", "HX-Current-URL": page}
    fragment = workshop.app.test_client().get("/jobs/_list", headers=headers)
    assert (401, "/signin?next=%2Fjobs") == (fragment.status_code, fragment.headers["HX-Redirect"])


def test_a_revoked_device_is_told_so_and_can_sign_in_anew(workshop):
    client = workshop.client("Anna")
    boss = workshop.client("Bodo")
    assert 303 == boss.post(f"/office/phones/{workshop.device(client)['id']}/revoke").status_code
    answer = client.get("/sync/reference")
    assert (403, auth.REVOKED) == (answer.status_code, answer.json["sentence"])
    assert auth.REVOKED in client.get("/jobs", follow_redirects=True).text
    assert 303 == client.post("/signin", data={"person": workshop.people["Anna"], "pin": PIN}).status_code
    assert 200 == client.get("/jobs").status_code


def test_taking_over_a_device_needs_the_pin_once(workshop):
    client = workshop.client("Anna")
    bodo = workshop.people["Bodo"]
    answer = client.post("/who", data={"person": bodo, "next": "/jobs"})
    assert f"/signin?person={bodo}&next=%2Fjobs" == answer.headers["Location"]
    client.post("/signin", data={"person": bodo, "pin": PIN, "next": "/jobs"})
    assert bodo == client.get("/sync/reference").json["who"]
    answer = client.post("/who", data={"person": workshop.people["Anna"], "next": "/jobs"})
    assert "/jobs" == answer.headers["Location"]
    assert workshop.people["Anna"] == client.get("/sync/reference").json["who"]
    with workshop.database() as db:
        assert 1 == len(devices.listed(db))


def test_after_signing_out_the_device_may_send_but_shows_nothing(workshop):
    client = workshop.client("Anna")
    assert "/signin" == client.post("/signout").headers["Location"]
    assert 303 == client.get("/jobs").status_code
    assert "" == client.get("/sync/reference").json["who"]
    assert [] == client.post("/sync/send", json={"events": []}).json["verdicts"]


def test_a_new_pin_and_leaving_both_end_what_was_proved(workshop):
    client, boss = workshop.client("Anna"), workshop.client("Bodo")
    anna = workshop.people["Anna"]
    boss.post(f"/office/people/{anna}", data={"name": "Anna", "roles": ["technician"], "pin": "8888"})
    assert 303 == client.get("/jobs").status_code
    assert 422 == client.post("/signin", data={"person": anna, "pin": PIN}).status_code
    with workshop.database() as db:
        db.execute("DELETE FROM pin_tries")
    assert 303 == client.post("/signin", data={"person": anna, "pin": "8888"}).status_code
    boss.post(f"/office/people/{anna}", data={"name": "Anna", "roles": ["technician"], "working": "no"})
    assert 303 == client.get("/jobs").status_code
    assert "Anna" not in client.get("/signin").text
