"""Measure everything and print it; no figure here fails a run, since times belong to a machine."""

from tests.bench import accessibility, causes, core, hearing, lighthouse, lists, mechanics, phototaps, pluck, ribs, server, worker

for part in (core, mechanics, pluck, hearing, ribs, phototaps, causes, worker, server, lists, accessibility, lighthouse):
    part.main()
