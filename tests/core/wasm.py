"""The shipped WebAssembly under the Node that comes inside the Playwright wheel."""

import base64
import json
import subprocess
from pathlib import Path

import playwright

from webapp import build

ROOT = Path(__file__).resolve().parent.parent.parent
NODE = Path(playwright.__file__).parent / "driver" / "node"
# Compiled once for every test of a process.
BUNDLE = build.bundle()
END_OF_LIST = 4 + int.from_bytes(BUNDLE[:4], "big")
LISTED = json.loads(BUNDLE[4:END_OF_LIST])
BUNDLE_TEXT = base64.b64encode(BUNDLE).decode()

# One case is one call of a core function; see test_cases.py for its twin on CPython.
PRELUDE = '''
import json
from core.errors import CoreError


def run(text):
    case = json.loads(text)
    module = __import__("core." + case["module"], None, None, ["x"])
    try:
        return json.dumps(getattr(module, case["function"])(*case["args"]))
    except CoreError as error:
        return json.dumps({"error": error.code})
'''


def on_wasm(cases=(), calls=(), pages=()) -> dict:
    """Run cases, calls of the core's door and page renderings on the shipped engines."""
    node = NODE if NODE.exists() else NODE.with_suffix(".exe")
    given = {"static": str(ROOT / "static"), "bundle": BUNDLE_TEXT, "prelude": PRELUDE,
             "cases": list(cases), "calls": list(calls), "pages": list(pages)}
    done = subprocess.run([str(node), str(Path(__file__).with_name("wasm_runner.mjs"))], input=json.dumps(given),
                          capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)
