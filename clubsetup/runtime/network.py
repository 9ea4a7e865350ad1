"""Where the service can be reached."""

import socket
import time

import psutil

LOCAL = ("localhost", "127.0.0.1", "[::1]")
EVERYWHERE = ("0.0.0.0", "::")  # noqa: S104  # compared with, not bound to


def own_addresses() -> list[str]:
    """This machine's IPv4 addresses, other than the loopback."""
    interfaces = psutil.net_if_addrs().values()
    ipv4 = {a.address for addresses in interfaces for a in addresses if a.family == socket.AF_INET}
    return sorted(address for address in ipv4 if not address.startswith("127."))


def allowed_hosts(host: str) -> list[str]:
    """The names under which a browser may ask, when the service listens on `host`."""
    if host in LOCAL:
        return list(LOCAL)
    names = [socket.gethostname(), f"{socket.gethostname()}.local"]
    return [*LOCAL, *names, *(own_addresses() if host in EVERYWHERE else [host])]


def addresses(host: str, port: int) -> list[str]:
    """What to type into a browser."""
    hosts = ["127.0.0.1", *own_addresses()] if host in EVERYWHERE else [host]
    return [f"http://{name}:{port}/" for name in hosts]


def is_free(host: str, port: int, seconds: float = 5) -> bool:
    """Whether the port can be had; it waits a little for what a killed run left to let go."""
    end = time.monotonic() + seconds
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    while True:
        with socket.socket(family, socket.SOCK_STREAM) as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind((host.strip("[]"), port))
            except OSError:
                if time.monotonic() > end:
                    return False
            else:
                return True
        time.sleep(0.2)


def answers(host: str, port: int) -> bool:
    """Whether somebody listens."""
    where = "127.0.0.1" if host in EVERYWHERE else host.strip("[]")
    try:
        socket.create_connection((where, port), timeout=1).close()
    except OSError:
        return False
    return True
