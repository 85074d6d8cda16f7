"""The stock list: files of every usual make, what is wrong line by line, the old list until another one is put in force.

Files are written by Python's own csv and codecs modules, apart from the code that reads them. All lines are invented.
"""

import csv
import io

import pytest

from webapp import stock
from webapp.core import gs1, stocklist, words
from webapp.core.errors import CoreError

HEADINGS = ["Artikel-Nr.", "Bezeichnung", "Bestand", "Lagerplatz", "EAN", "Marking"]
LINES = [["VR 6-1500", "Keilrippenriemen für Größe 6", "3", "Regal 4; Fach 2", "6291041500213", "6PK1500"],
         ["VR 6-1510", "Riemen, \"lang\"", "0", "", "", "6 PK 1510"],
         ["OAP-77", "Freilauf | Kappe", "2,5", "B\t1", "", ""]]


def made(separator=";", encoding="utf-8", rows=LINES, headings=HEADINGS, ending="\r\n"):
    out = io.StringIO()
    csv.writer(out, delimiter=separator, lineterminator=ending).writerows([headings, *rows])
    return out.getvalue().encode(encoding)


def read(body):
    table = stock.table_of(body)
    return table, stock.lines_of(table, stock.guessed(table["headings"]))


@pytest.mark.parametrize("separator", [";", ",", "\t", "|"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
@pytest.mark.parametrize("ending", ["\r\n", "\n"])
def test_every_usual_encoding_and_separator_gives_the_same_lines(separator, encoding, ending):
    table, found = read(made(separator, encoding, ending=ending))
    assert table["separator"] == separator and found["errors"] == []
    assert [line["name"] for line in found["lines"]] == [row[1] for row in LINES]
    assert found["lines"][0] == {"number": "VR 6-1500", "name": LINES[0][1], "kind": "", "marking": "6PK1500", "quantity": "3",
                                 "place": "Regal 4; Fach 2", "item": "06291041500213"}
    assert found["lines"][2]["quantity"] == "2.5" and found["lines"][2]["place"] == "B 1"


@pytest.mark.parametrize("body,code", [(b"", "stock-empty"), (b"number;name\r\n", "stock-empty"), (b"\x89PNG\r\n\x1a\n\x00\x01\x02\x00" * 9, "stock-encoding"),
                                       (b"number;name\n\x81\x8d;x\n", "stock-encoding"), (b"\xff\xfe1", "stock-encoding"),
                                       (b"number;name\n\"" + b"x" * 200_000 + b"\"\n", "stock-table")])
def test_a_file_that_is_no_table_is_refused(body, code):
    with pytest.raises(CoreError) as caught:
        stock.table_of(body)
    assert caught.value.code == code and words.sentence(caught.value)


def test_each_bad_line_is_named_and_left_out():
    rows = [LINES[0], ["", "no number", "1", "", "", ""], ["A-1", "x", "many", "", "", ""], ["A-2", "x", "", "", "6291041500214", ""],
            ["A-3", "x", "", "", "123", ""], ["vr.6 1500", "the same number", "1", "", "", ""], ["A-4", "n" * 81, "", "", "", ""], ["A-5"],
            ["- -", "signs only", "", "", "", ""], ["A-6", "x", "1e99", "", "", ""]]
    _, found = read(made(rows=rows))
    assert [line["number"] for line in found["lines"]] == ["VR 6-1500", "A-5"]
    assert [(at, code) for at, code, _ in found["errors"]] == [
        (3, "stock-missing"), (4, "stock-quantity"), (5, "check-digit"), (6, "stock-item"), (7, "stock-twice"), (8, "stock-long"),
        (10, "stock-missing"), (11, "stock-quantity")]
    assert found["errors"][4][2]["line"] == "2"
    assert all("{" not in words.sentence(CoreError(code, "", values)) for _, code, values in found["errors"])


def test_the_old_list_stays_until_the_new_one_is_put_in_force(db):
    stock.hold(db, "first.csv", made(), "bodo", "2026-03-09T08:05:00Z")
    assert stock.in_force(db) is None and stock.given(db, ["OAP77"]) == {"known": False, "lines": []}
    stock.put_in_force(db, "bodo", "2026-03-09T08:06:00Z")
    assert stock.in_force(db)["lines"] == 3 and stock.waiting(db) is None
    seal = stock.seal(db)
    for key, number in (("OAP77", "OAP-77"), ("06291041500213", "VR 6-1500"), (stocklist.marking_key("6pk1510"), "VR 6-1510")):
        assert [line["number"] for line in stock.given(db, [key])["lines"]] == [number]
    stock.hold(db, "second.csv", made(rows=[["NEW-1", "x", "", "", "", ""]]), "bodo", "2026-03-10T08:05:00Z")
    assert len(stock.given(db, ["OAP77"])["lines"]) == 1 and stock.seal(db) == seal
    stock.map_columns(db, {"name": 1})
    with pytest.raises(CoreError):
        stock.put_in_force(db, "bodo", "2026-03-10T08:06:00Z")
    assert len(stock.given(db, ["OAP77"])["lines"]) == 1
    stock.map_columns(db, {"number": 0, "name": 1})
    stock.put_in_force(db, "bodo", "2026-03-10T08:06:00Z")
    assert stock.given(db, ["OAP77"])["lines"] == [] and len(stock.given(db, ["NEW1"])["lines"]) == 1 and stock.seal(db) != seal
    with pytest.raises(CoreError):
        stock.put_in_force(db, "bodo", "2026-03-10T08:07:00Z")


def long_list(count):
    """Invented lines of a long list, every one with a number, an item and a marking."""
    rows = []
    for i in range(count):
        item = f"{400000000000 + i}"
        rows.append([f"P-{i:06d}", f"Part {i}", str(i % 7), f"Shelf {i % 90}", item + gs1.check_digit(item), f"{3 + i % 6}PK{700 + i % 1500}"])
    return rows


def test_a_hundred_thousand_lines_go_in_and_are_found(db):
    rows = long_list(100_000)
    stock.hold(db, "long.csv", made(rows=rows), "bodo", "2026-03-09T08:05:00Z")
    stock.put_in_force(db, "bodo", "2026-03-09T08:06:00Z")
    assert stock.in_force(db)["lines"] == 100_000
    found = stock.given(db, ["P099999", "0" + rows[5][4], "unknown"])
    assert [line["number"] for line in found["lines"]] == ["P-000005", "P-099999"]
    seen, after, more = 0, "", True
    while more and seen < 6000:
        part = stock.page(db, "lines", after, 2000)
        seen, after, more = seen + len(part["rows"]), part["next"], part["more"]
    assert seen == 6000 and part["rows"][-1][0] == 6000 and part["rows"][-1][1]["number"] == "P-005999"


def test_a_waiting_file_is_read_once_and_not_at_every_look(db, monkeypatch):
    stock.hold(db, "first.csv", made(), "bodo", "2026-03-09T08:05:00Z")
    monkeypatch.setattr(stock, "table_of", lambda body: pytest.fail("read again"))
    held = stock.waiting(db)
    assert [held["preview"]["rows"], held["preview"]["good"], held["preview"]["bad"]] == [3, 3, 0]
    assert [line["number"] for line in held["preview"]["first"]] == [row[0] for row in LINES]


def test_the_office_looks_at_a_list_before_it_is_used(workshop):
    boss, other = workshop.client("Bodo"), workshop.client("Anna")
    assert other.get("/office/stock").status_code == 403 and other.post("/office/stock/use").status_code == 403
    assert "No list yet" in boss.get("/office/stock").text
    assert boss.post("/office/stock").status_code == 422
    refused = boss.post("/office/stock", data={"file": (io.BytesIO(b"\x00\x01\x02"), "x.csv")})
    assert refused.status_code == 422 and words.ERRORS["stock-encoding"].split(".")[0].replace("'", "&#39;") in refused.text
    rows = [*LINES, ["", "<b>no number</b>", "", "", "", ""]]
    assert boss.post("/office/stock", data={"file": (io.BytesIO(made(",", "cp1252", rows)), "list <1>.csv")}).status_code == 303
    page = boss.get("/office/stock").text
    for said in ("WINDOWS-1252", "split by comma", "3 lines can be used", "Left out: 1", "Line 5:", "Größe", "list &lt;1&gt;.csv"):
        assert said in page
    assert boss.post("/office/stock/columns", data={"name": "1"}).status_code == 422
    assert "Use this list" not in boss.get("/office/stock").text
    assert boss.post("/office/stock/use").status_code == 422
    assert boss.post("/office/stock/columns", data={"number": "0", "quantity": "2", "place": "77", "item": "x"}).status_code == 303
    assert boss.post("/office/stock/use").status_code == 303
    page = boss.get("/office/stock").text
    assert "3 lines" in page and "Look at it first" not in page
    assert boss.post("/office/stock", data={"file": (io.BytesIO(made()), "other.csv")}).status_code == 303
    assert boss.post("/office/stock/drop").status_code == 303 and "other.csv" not in boss.get("/office/stock").text


def test_a_phone_takes_the_list_in_parts(workshop):
    client = workshop.client("Cleo")
    assert client.get("/sync/reference").json["stock_seal"] == ""
    for part in ("lines", "keys"):
        assert client.get("/sync/stock?part=" + part).json == {"seal": "", "rows": [], "next": "", "more": False}
    with workshop.database() as db:
        stock.hold(db, "first.csv", made(), "bodo", "2026-03-09T08:05:00Z")
        stock.put_in_force(db, "bodo", "2026-03-09T08:06:00Z")
    seal = client.get("/sync/reference").json["stock_seal"]
    first = client.get("/sync/stock?part=lines&limit=2").json
    rest = client.get(f"/sync/stock?part=lines&limit=2&after={first['next']}").json
    assert first["seal"] == rest["seal"] == seal != "" and first["more"] and not rest["more"]
    assert [(number, line["number"]) for number, line in first["rows"] + rest["rows"]] == list(enumerate([row[0] for row in LINES], 1))
    keys, after = [], ""
    for more in (True, True, False):
        page = client.get(f"/sync/stock?part=keys&limit=2&after={after}").json
        keys, after = keys + page["rows"], page["next"]
        assert page["more"] == more
    assert keys == [["06291041500213", [1]], ["6PK1500", [1]], ["6PK1510", [2]], ["OAP77", [3]], ["VR61500", [1]], ["VR61510", [2]]]
    for wrong in ("", "?part=x", "?part=lines&after=x", "?part=lines&after=-1", "?part=keys&limit=x"):
        assert client.get("/sync/stock" + wrong).status_code == 400
