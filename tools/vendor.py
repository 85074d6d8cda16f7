"""Fetch the pinned third-party files into static/vendor/, or check those that are there.

    python tools/vendor.py            fetch with npm, verify, patch, write VENDORED.md
    python tools/vendor.py --check    compare the files on disk with VENDORED.md (no network)

To take a new version: change the version and its integrity (`npm view NAME@VERSION dist.integrity`).
"""

import argparse
import base64
import hashlib
import json
import subprocess
import sys
import tarfile
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENDOR = ROOT / "static" / "vendor"
LIST = VENDOR / "VENDORED.md"
LICENCES = ROOT / "tools" / "licences"

# A licence is a file of the package, or of tools/licences where the package brings none.
PACKAGES = [
    {"name": "htmx.org", "version": "4.0.1", "licence": "0BSD", "text": "package:LICENSE",
     "integrity": "sha512-oF7JgXhDW9UXCy/k1ZYFUQgzu/rm19ORWPSPNL91vPluB2PB9+MV55tyQdH/w7o2EAbTYUG5SDW1R60mdkdqGg==",
     "files": {"dist/htmx.min.js": "htmx/htmx.min.js"}},
    {"name": "idb", "version": "8.0.4", "licence": "ISC", "text": "package:LICENSE",
     "integrity": "sha512-jd0ITCrN+Zah4J7R/Z2jnR3W7A4BXDAjmo62MwWuSjxCiueUAf7X5rbodEdidWzeknwXHmLpdZkoiiCppNi30Q==",
     "files": {"build/index.js": "idb/index.js"}},
    {"name": "@micropython/micropython-webassembly-pyscript", "version": "1.27.0", "licence": "MIT",
     "text": "tools:micropython.txt",
     "integrity": "sha512-DnXx4EqxgkeaFESrS3uKrL7mLMk4mRTd0mMzaOd3HUSiZUOAE7t11uLnjf3ftF87N2xm4knHnWEKcVK4IYIUDA==",
     "files": {"micropython.mjs": "micropython/micropython.mjs", "micropython.wasm": "micropython/micropython.wasm"}},
    {"name": "minijinja-js", "version": "2.11.0", "licence": "Apache-2.0", "text": "tools:Apache-2.0.txt",
     "integrity": "sha512-LZeluBZywMlJIduGXnN+hdAaAn+h31z8eWf5rga5HkCBP3lIGaw/7Naz+UzulHgilLLsAIXKVVqizHfn+nEIjQ==",
     "files": {"dist/web/minijinja_js.js": "minijinja/minijinja.js",
               "dist/web/minijinja_js_bg.wasm": "minijinja/minijinja.wasm"}},
    {"name": "uplot", "version": "1.6.32", "licence": "MIT", "text": "package:LICENSE",
     "integrity": "sha512-KIMVnG68zvu5XXUbC4LQEPnhwOxBuLyW1AHtpm6IKTXImkbLgkMy+jabjLgSLMasNuGGzQm/ep3tOkyTxpiQIw==",
     "files": {"dist/uPlot.iife.min.js": "uplot/uplot.min.js", "dist/uPlot.min.css": "uplot/uplot.min.css"}},
    {"name": "zxing-wasm", "version": "3.1.4", "licence": "MIT; the code reader inside is Apache-2.0",
     "text": "package:LICENSE",
     "integrity": "sha512-1+v8p7sauddySVNG+ye7GD/0TS95BG2ycdkrC+EnBrFBFkHeIghzUt2yVjtx3NucJeNrQnhT8yGAIz60Vx9o0w==",
     "files": {"dist/es/reader/index.js": "zxing/reader/index.js", "dist/es/share.js": "zxing/share.js",
               "dist/reader/zxing_reader.wasm": "zxing/reader/zxing_reader.wasm"}},
]


def fetch(package: dict, folder: Path) -> Path:
    """Download one package with npm and return its tarball, verified."""
    spec = f"{package['name']}@{package['version']}"
    out = subprocess.run(["npm", "pack", "--json", "--pack-destination", str(folder), spec],
                         check=True, capture_output=True, text=True).stdout
    tarball = folder / json.loads(out)[0]["filename"].replace("@", "").replace("/", "-")
    digest = base64.b64encode(hashlib.sha512(tarball.read_bytes()).digest()).decode()
    if "sha512-" + digest != package["integrity"]:
        raise SystemExit(f"{spec}: the download has another hash than the pinned one")
    return tarball


def cut_between(text: str, start: str, end: str, instead: str) -> str:
    """Replace what lies from `start` up to `end`; each has to be there exactly once."""
    if text.count(start) != 1 or text.count(end) != 1 or text.index(start) > text.index(end):
        raise SystemExit("micropython.mjs has another layout: look at it and adapt the patch")
    return text[:text.index(start)] + instead + text[text.index(end):]


def patch_micropython(text: str) -> str:
    """Make the module loadable by a service worker.

    Its command-line part awaits at the top level, which a service worker refuses, so it goes. The
    loader passes an option of ours on to Emscripten, so that a module from the cache can be used:
    a worker's own fetch goes past the worker's cache.
    """
    text = cut_between(text, 'if(globalThis.loadMicroPython=loadMicroPython,"object"==typeof process&&',
                       "class PyProxy{constructor(ref)", "globalThis.loadMicroPython=loadMicroPython;")
    paths = "let Module={locateFile:(path,scriptDirectory)=>url||scriptDirectory+path}"
    return cut_between(text, paths, ";Module._textDecoder=new TextDecoder",
                       paths[:-1] + ",instantiateWasm:options.instantiateWasm}")


def patch_minijinja(text: str) -> str:
    """Let the module be started afresh after a trap: its guards against a second start go."""
    guard = "if (wasm !== undefined) return wasm;"
    if text.count(guard) != 2:
        raise SystemExit("minijinja_js.js has another layout: look at it and adapt the patch")
    return text.replace(guard, "")


# Every other file is taken as published.
PATCHES = {"micropython/micropython.mjs": patch_micropython, "minijinja/minijinja.js": patch_minijinja}


def take(package: dict, tarball: Path) -> list:
    """Write the wanted files of one package; return [[path under static/vendor, SHA-256], ...]."""
    rows = []
    with tarfile.open(tarball) as archive:
        def read(path):
            return archive.extractfile("package/" + path).read()
        where, licence = package["text"].split(":")
        folder = next(iter(package["files"].values())).split("/")[0]
        wanted = [(folder + "/LICENCE.txt", read(licence) if where == "package" else (LICENCES / licence).read_bytes())]
        if "Apache" in package["licence"] and where == "package":
            wanted.append((folder + "/LICENCE-Apache-2.0.txt", (LICENCES / "Apache-2.0.txt").read_bytes()))
        for source, target in package["files"].items():
            data = read(source)
            if target in PATCHES:
                data = PATCHES[target](data.decode()).encode()
            wanted.append((target, data))
    for target, data in wanted:
        path = VENDOR / target
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
        rows.append([target, hashlib.sha256(data).hexdigest()])
    return rows


def describe(taken: list) -> str:
    """Return the text of VENDORED.md."""
    lines = ["# Vendored files", "",
             "Written by `tools/vendor.py`; `tools/vendor.py --check` compares the files with the hashes below.",
             "`micropython.mjs` is patched: its command-line part is cut off and the loader takes an",
             "`instantiateWasm` option. `minijinja.js` is patched: it can be started more than once.",
             "Every other file is as published.", ""]
    for package, rows in taken:
        lines += [f"## {package['name']} {package['version']}", "", f"Licence: {package['licence']}", "",
                  "| file | SHA-256 |", "|---|---|"]
        lines += [f"| {path} | `{digest}` |" for path, digest in rows]
        lines.append("")
    return "\n".join(lines)


def listed() -> dict:
    """Return {path: SHA-256} as VENDORED.md says."""
    found = {}
    for line in LIST.read_text().splitlines():
        cells = [cell.strip() for cell in line.strip("|").split("|")]
        if len(cells) == 2 and cells[1].startswith("`"):
            found[cells[0]] = cells[1].strip("`")
    return found


def check() -> list:
    """Return a sentence for each file that is missing, changed or not listed."""
    wrong = []
    hashes = listed()
    for path in sorted(p for p in VENDOR.rglob("*") if p.is_file() and p != LIST):
        name = path.relative_to(VENDOR).as_posix()
        if name not in hashes:
            wrong.append(f"{name} is not listed")
        elif hashlib.sha256(path.read_bytes()).hexdigest() != hashes.pop(name):
            wrong.append(f"{name} was changed")
    return wrong + [f"{name} is missing" for name in sorted(hashes)]


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--check", action="store_true", help="compare the files on disk with VENDORED.md")
    if parser.parse_args().check:
        wrong = check()
        print("\n".join(wrong) or "All vendored files are as listed.")
        return 1 if wrong else 0
    VENDOR.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        taken = [(package, take(package, fetch(package, Path(folder)))) for package in PACKAGES]
    LIST.write_text(describe(taken))
    print(f"Wrote {LIST.relative_to(ROOT)}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
