"""The one permanent origin: the name and ports that tags on paper and phones' storage are bound to.

A phone keeps its records under the origin, and a printed tag holds its address, so it is fixed at first start.
"""

import dataclasses
import json
import os
import re
import socket
from pathlib import Path


@dataclasses.dataclass(frozen=True)
class Origin:
    """Name (DNS name or IPv4 address) and ports of this workshop's server."""

    name: str
    http_port: int
    https_port: int

    @property
    def url(self) -> str:
        """The address of the app, without a slash at the end."""
        return f"https://{self.name}" + ("" if self.https_port == 443 else f":{self.https_port}")

    @property
    def connect_url(self) -> str:
        """The plain address where a new phone starts."""
        return f"http://{self.name}" + ("" if self.http_port == 80 else f":{self.http_port}") + "/connect"


class NotAnOrigin(Exception):
    """The name or ports cannot be used; the text says why."""


def check(origin: Origin) -> None:
    """Refuse a name that is neither a host name (RFC 1123) nor an IPv4 address, and impossible ports."""
    label = r"[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?"
    if len(origin.name) > 253 or not re.fullmatch(rf"{label}(\.{label})*", origin.name):
        raise NotAnOrigin(f"“{origin.name}” is not a host name: small letters, digits, hyphens and dots, no port.")
    if is_address(origin.name) is None:
        raise NotAnOrigin(f"“{origin.name}” is not a full IPv4 address.")
    for port in (origin.http_port, origin.https_port):
        if not 1 <= port <= 65535:
            raise NotAnOrigin(f"Port {port} does not exist: 1 to 65535.")
    if origin.http_port == origin.https_port:
        raise NotAnOrigin("The plain and the secure port must differ.")


def is_address(name: str):
    """Tell an IPv4 address (True) from a name (False); None for digits and dots that are no address."""
    if not re.fullmatch(r"[0-9.]+", name):
        return False
    try:
        return socket.inet_ntoa(socket.inet_pton(socket.AF_INET, name)) == name
    except OSError:
        return None


def load(data: Path):
    """Return the stored origin, or None before the first start."""
    path = data / "origin.json"
    if not path.exists():
        return None
    held = json.loads(path.read_text())
    return Origin(held["name"], held["http_port"], held["https_port"])


def save(data: Path, origin: Origin) -> None:
    """Store the origin, whole or not at all."""
    check(origin)
    fresh = data / "origin.json.new"
    fresh.write_text(json.dumps(dataclasses.asdict(origin), indent=2) + "\n")
    os.replace(fresh, data / "origin.json")


def lan_address() -> str:
    """Return the address by which the local network reaches this machine; loopback when there is no network."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            # Connecting a datagram socket sends nothing; it only asks for the route. (RFC 5737 address)
            probe.connect(("198.51.100.1", 9))
            return probe.getsockname()[0]
        except OSError:
            return "127.0.0.1"


def host_name() -> str:
    """Return this machine's .local name (RFC 6762), or "" when its host name has no usable first label."""
    label = re.sub(r"[^a-z0-9-]", "", socket.gethostname().split(".")[0].lower()).strip("-")
    return f"{label}.local" if label and label != "localhost" else ""


def names_and_addresses(origin: Origin) -> tuple:
    """Return the DNS names and the IPv4 addresses that the server's certificate should hold."""
    names = {"localhost", host_name()} - {""}
    addresses = {"127.0.0.1", lan_address()}
    (addresses if is_address(origin.name) else names).add(origin.name)
    return sorted(names), sorted(addresses)


def leads_here(name: str) -> bool:
    """Tell whether a name or address stands for this machine: only an address of ours can be bound."""
    try:
        found = {entry[4][0] for entry in socket.getaddrinfo(name, None, socket.AF_INET)}
    except OSError:
        return False
    for address in found:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
            try:
                probe.bind((address, 0))
                return True
            except OSError:
                continue
    return False
