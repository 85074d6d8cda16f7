"""The shared core: the same files run on CPython (server) and MicroPython (phone)."""
