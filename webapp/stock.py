"""The workshop's stock list: read from a file of separated values, kept as a whole, looked up by keys."""

import csv
import io
import json

from . import store
from .core import gs1, numbers, stocklist
from .core.errors import CoreError

# Column of a line, its name, whether it is needed, and headings that mean it, in small letters without signs.
COLUMNS = [
    ("number", "Part number", True, ["number", "partnumber", "partno", "no", "nr", "article", "articlenumber", "sku", "partnum", "artikel",
                                     "artikelnr", "artikelnummer", "teilenr", "teilenummer", "reference", "ref", "itemno"]),
    ("name", "Name", False, ["name", "description", "title", "bezeichnung", "designation", "text"]),
    ("kind", "Kind", False, ["kind", "group", "type", "category", "gruppe"]),
    ("marking", "Belt marking", False, ["marking", "belt", "size", "dimension"]),
    ("quantity", "Quantity", False, ["quantity", "qty", "stock", "count", "onhand", "menge", "bestand", "quantite"]),
    ("place", "Place", False, ["place", "location", "shelf", "bin", "lagerplatz", "lager"]),
    ("item", "EAN or GTIN", False, ["ean", "gtin", "ean13", "barcode", "upc", "item", "itemnumber"]),
]
NAMES = [column[0] for column in COLUMNS]
MOST_BYTES = 20_000_000
MOST_LINES = 200_000
MOST_SIGNS = 80
# Lines that are shown, and errors that are listed one by one; the rest are counted.
SHOWN = 8
MOST_ERRORS = 50
_SEPARATORS = ";\t,|"
_GREATEST = 10_000_000


# ---- reading a file ----

def decoded(body: bytes) -> tuple:
    """Return a file's text and the encoding it was read in.

    A byte order mark decides; then UTF-16 shows by its zero bytes; then UTF-8, which other text seldom is by chance; else
    Windows-1252. CoreError "stock-encoding" when nothing fits.
    """
    for mark, encoding in ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16")):
        if body.startswith(mark):
            return _decode(body, encoding), encoding
    start = body[:2000]
    for place, encoding in ((1, "utf-16-le"), (0, "utf-16-be")):
        if len(start) >= 4 and start[place::2].count(0) > 0.4 * len(start) / 2:
            return _decode(body, encoding), encoding
    try:
        body.decode("utf-8")
    except UnicodeDecodeError:
        return _decode(body, "cp1252"), "windows-1252"
    return _decode(body, "utf-8"), "utf-8"


def _decode(body, encoding):
    try:
        text = body.decode(encoding)
    except UnicodeDecodeError:
        raise CoreError("stock-encoding", "file") from None
    if "\0" in text:
        raise CoreError("stock-encoding", "file")
    return text


def separator_of(text: str) -> str:
    """Return the sign between the columns: the one that splits the first lines into the most columns, the same in each."""
    best, most = ";", 0
    for sign in _SEPARATORS:
        rows = [row for _, row in zip(range(30), _rows(text[:20000], sign)) if row]
        widths = [len(row) for row in (rows[:-1] if len(text) > 20000 else rows)]
        if widths and widths[0] > 1:
            score = widths.count(widths[0]) / len(widths) * 100 + widths[0]
            if score > most:
                best, most = sign, score
    return best


def _rows(text, sign):
    try:
        yield from csv.reader(io.StringIO(text, newline=""), delimiter=sign)
    except csv.Error:
        raise CoreError("stock-table", "file") from None


def guessed(headings: list) -> dict:
    """Return {column: place among the headings} for the headings that are known, the first that fits each."""
    plain = ["".join(sign for sign in heading.lower() if sign.isalnum()) for heading in headings]
    found = {}
    for name, _label, _needed, meanings in COLUMNS:
        for place, heading in enumerate(plain):
            if heading in meanings and place not in found.values():
                found[name] = place
                break
    return found


def table_of(body: bytes) -> dict:
    """Return a file as a table: {"encoding", "separator", "headings", "rows": [(line of the file, cells), ...]}."""
    text, encoding = decoded(body)
    sign = separator_of(text)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=sign)
    rows = []
    try:
        for row in reader:
            if any(cell.strip() for cell in row):
                rows.append((reader.line_num, row))
            if len(rows) > MOST_LINES:
                raise CoreError("too-much", "file", {"most": f"{MOST_LINES} lines"})
    except csv.Error:
        raise CoreError("stock-table", "file") from None
    if len(rows) < 2:
        raise CoreError("stock-empty", "file")
    return {"encoding": encoding, "separator": sign, "headings": [cell.strip() for cell in rows[0][1]], "rows": rows[1:]}


def lines_of(table: dict, columns: dict) -> dict:
    """Return the lines of a table and what is wrong with the others.

    Parameters:  table: of `table_of` · columns: {column: place among the headings}; "number" is needed
    Returns:     {"lines": [line, ...], "errors": [(line of the file, code, values), ...]}; a line with an error is left out
    """
    lines, errors, seen = [], [], {}
    for at, cells in table["rows"]:
        line = {name: _cell(cells, columns.get(name)) for name in NAMES}
        try:
            _check(line, seen)
        except CoreError as error:
            errors.append((at, error.code, error.values))
            continue
        seen[stocklist.plain(line["number"])] = at
        lines.append(line)
    return {"lines": lines, "errors": errors}


def _cell(cells, place):
    return " ".join(cells[place].split()) if place is not None and place < len(cells) else ""


def _check(line, seen):
    for name, label, needed, _meanings in COLUMNS:
        if needed and not line[name]:
            raise CoreError("stock-missing", name, {"column": label})
        if len(line[name]) > MOST_SIGNS:
            raise CoreError("stock-long", name, {"column": label, "most": str(MOST_SIGNS)})
    key = stocklist.plain(line["number"])
    if not key:
        raise CoreError("stock-missing", "number", {"column": "Part number"})
    if key in seen:
        raise CoreError("stock-twice", "number", {"number": line["number"], "line": str(seen[key])})
    if line["quantity"]:
        _check_quantity(line)
    if line["item"]:
        item = gs1.item_number(line["item"])
        if not item:
            raise CoreError("stock-item", "item", {"item": line["item"]})
        line["item"] = item


def _check_quantity(line):
    try:
        count = numbers.read_number(line["quantity"], "quantity")
    except CoreError:
        raise CoreError("stock-quantity", "quantity", {"quantity": line["quantity"]}) from None
    if not -_GREATEST <= count <= _GREATEST:
        raise CoreError("stock-quantity", "quantity", {"quantity": line["quantity"]})
    line["quantity"] = numbers.trimmed(count, 2)


# ---- the file that waits for a person to look at it ----

def hold(db, name: str, body: bytes, by: str, at: str):
    """Keep a file until somebody puts it in force or drops it. CoreError when it is no table."""
    table = table_of(body)
    columns = guessed(table["headings"])
    with store.writing(db):
        db.execute("INSERT OR REPLACE INTO stock_waiting (only, name, content, columns, preview, taken_by, taken_at)"
                   " VALUES (1, ?, ?, ?, ?, ?, ?)",
                   [name[:100], body, json.dumps(columns), json.dumps(preview_of(table, columns)), by, at])


def preview_of(table: dict, columns: dict) -> dict:
    """Return what a person looks at before a file is used.

    {"encoding", "separator", "headings", "rows": count, "good": count, "bad": count, "first": the first lines, "errors": the
    first of them, [[line of the file, code, values], ...]}
    """
    found = lines_of(table, columns) if "number" in columns else {"lines": [], "errors": []}
    return {"encoding": table["encoding"], "separator": table["separator"], "headings": table["headings"], "rows": len(table["rows"]),
            "good": len(found["lines"]), "bad": len(found["errors"]), "first": found["lines"][:SHOWN], "errors": found["errors"][:MOST_ERRORS]}


def waiting(db):
    """Return {"name", "preview": of `preview_of`, "columns", "by", "at"} of the file that waits, or None."""
    row = db.execute("SELECT name, preview, columns, taken_by, taken_at FROM stock_waiting").fetchone()
    return None if row is None else {"name": row[0], "preview": json.loads(row[1]), "columns": json.loads(row[2]), "by": row[3], "at": row[4]}


def map_columns(db, columns: dict):
    """Say which column of the file is which."""
    row = db.execute("SELECT content FROM stock_waiting").fetchone()
    if row is None:
        return
    preview = preview_of(table_of(row[0]), columns)
    with store.writing(db):
        db.execute("UPDATE stock_waiting SET columns = ?, preview = ?", [json.dumps(columns), json.dumps(preview)])


def drop(db):
    """Let go of the file that waits."""
    with store.writing(db):
        db.execute("DELETE FROM stock_waiting")


def put_in_force(db, by: str, at: str):
    """Replace the list by the file that waits, as a whole or not at all. CoreError "stock-columns", "stock-none"."""
    held = waiting(db)
    if held is None:
        raise CoreError("stock-none", "file")
    if "number" not in held["columns"]:
        raise CoreError("stock-columns", "number")
    body = db.execute("SELECT content FROM stock_waiting").fetchone()[0]
    lines = lines_of(table_of(body), held["columns"])["lines"]
    if not lines:
        raise CoreError("stock-none", "file")
    keyed = [[number, json.dumps(line, ensure_ascii=False), stocklist.keys_of(line)] for number, line in enumerate(lines, 1)]
    with store.writing(db):
        db.execute("DELETE FROM stock_keys")
        db.execute("DELETE FROM stock")
        db.conn.executemany("INSERT INTO stock (line, content) VALUES (?, ?)", [row[:2] for row in keyed])
        db.conn.executemany("INSERT OR IGNORE INTO stock_keys (key, line) VALUES (?, ?)",
                       [[key, row[0]] for row in keyed for key in row[2]])
        db.execute("INSERT INTO stock_lists (version, name, lines, taken_by, taken_at)"
                   " VALUES ((SELECT coalesce(max(version), 0) + 1 FROM stock_lists), ?, ?, ?, ?)", [held["name"], len(lines), by, at])
        db.execute("DELETE FROM stock_waiting")


# ---- the list in force ----

def in_force(db):
    """Return {"version", "name", "lines", "by", "at"} of the list in force, or None."""
    row = db.execute("SELECT version, name, lines, taken_by, taken_at FROM stock_lists ORDER BY version DESC LIMIT 1").fetchone()
    return None if row is None else dict(zip(("version", "name", "lines", "by", "at"), row))


def seal(db) -> str:
    """Return a text that changes with the list, "" while there is none."""
    held = in_force(db)
    return "" if held is None else f"{held['version']} {held['at']}"


def given(db, keys: list) -> dict:
    """Return the lines that the keys name, as the core is given them."""
    marks = ",".join("?" * len(keys))
    found = db.execute(f"SELECT content FROM stock WHERE line IN (SELECT line FROM stock_keys WHERE key IN ({marks}))"
                       " ORDER BY line LIMIT ?", [*keys, stocklist.MOST_LINES])
    return {"known": in_force(db) is not None, "lines": [json.loads(row[0]) for row in found]}


def page(db, part: str, after: str, most: int) -> dict:
    """Return a part of the list for a phone, in its order.

    Parameters:  part: "lines" for [number, line], "keys" for [key, numbers of its lines] · after: the last number or key that the
                 phone has, "" for none · most: rows
    Returns:     {"seal", "rows", "next", "more"}
    """
    if part == "lines":
        found = db.execute("SELECT line, content FROM stock WHERE line > ? ORDER BY line LIMIT ?", [int(after or 0), most + 1])
        rows = [[line, json.loads(content)] for line, content in found]
    else:
        found = db.execute("SELECT key, json_group_array(line) FROM stock_keys WHERE key > ? GROUP BY key ORDER BY key LIMIT ?",
                           [after, most + 1])
        rows = [[key, sorted(json.loads(lines))[:stocklist.MOST_LINES]] for key, lines in found]
    return {"seal": seal(db), "rows": rows[:most], "next": str(rows[:most][-1][0]) if rows else after, "more": len(rows) > most}
