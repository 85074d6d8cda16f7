"""Measure everything and print it; no figure here fails a run, since times belong to a machine."""

from tests.bench import accessibility, core, lighthouse, server, worker

for part in (core, worker, server, accessibility, lighthouse):
    part.main()
