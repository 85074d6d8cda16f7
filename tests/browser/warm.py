"""What every start of a server in these tests begins with: the app imported, and what a phone installs compiled. Read by the
process that the servers are forked from, and by no other."""

import functools
from pathlib import Path

from webapp import build, cli

build.make = functools.cache(build.make)
build.make(Path(cli.__file__).resolve().parent.parent / "static")
