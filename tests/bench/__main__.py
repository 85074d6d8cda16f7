"""Measure everything and print it; no figure here fails a run, since times belong to a machine."""

from tests.bench import accessibility, causes, core, lighthouse, mechanics, pluck, server, worker

for part in (core, mechanics, pluck, causes, worker, server, accessibility, lighthouse):
    part.main()
