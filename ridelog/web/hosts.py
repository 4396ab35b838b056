"""Where the page may be reached: on this computer, or, where its owner says so, from others; and by which names."""

import ipaddress
import socket

from ridelog.lazy import dataclass
from ridelog.tell.refusals.page import door as refusals

LOCAL_NAMES = frozenset({"127.0.0.1", "localhost", "[::1]"})
OWN = "127.0.0.1"

Address = ipaddress.IPv4Address | ipaddress.IPv6Address


@dataclass(frozen=True)
class Names:
    """Names by which requests may call the page.

    A page that listens on this computer only can still be reached by a foreign web site whose name was made to point
    here, and so can one that listens to a network; the name that such requests carry gives them away. An address
    that is written in numbers points nowhere else, so that a page that is open to others answers to each.

    Attributes
    ----------
    known : names and addresses, small letters, those of IPv6 in brackets
    any_number : addresses in numbers are taken as well
    """

    known: frozenset[str] = LOCAL_NAMES
    any_number: bool = False

    def take(self, host: str) -> bool:
        """Whether a request with this ``Host`` is meant for the page."""
        name = host.rpartition(":")[0] if ":" in host and not host.endswith("]") else host
        name = name.lower().rstrip(".")
        return name in self.known or (self.any_number and _number(name.strip("[]")) is not None)


OWN_NAMES = Names()


def names_for(host: str, *, others_may: bool) -> Names:
    """The names by which a page that listens on ``host`` may be called.

    Raises
    ------
    UsageError : others than this computer could reach it, and nobody said that they may
    """
    given = f"[{host}]" if ":" in host else host.lower().rstrip(".")
    if _is_own(host):
        return Names(LOCAL_NAMES | {given})
    if not others_may:
        raise refusals.no_protection(host, OWN)
    called = socket.gethostname().lower()
    return Names(LOCAL_NAMES | {given, called, f"{called}.local"}, any_number=True)


def _is_own(host: str) -> bool:
    """Whether nobody but this computer reaches the address, whatever it resolves to."""
    try:
        found = {str(info[4][0]).partition("%")[0] for info in socket.getaddrinfo(host, 0, type=socket.SOCK_STREAM)}
    except (OSError, UnicodeError):
        return True  # no address at all: listening on it fails, and says so
    numbers = [_number(each) for each in found]
    return all(each is not None and _plain(each).is_loopback for each in numbers)


def _plain(address: Address) -> Address:
    """An address of IPv4 that is written as one of IPv6 as what it is."""
    return (isinstance(address, ipaddress.IPv6Address) and address.ipv4_mapped) or address


def _number(text: str) -> Address | None:
    try:
        return ipaddress.ip_address(text)
    except ValueError:
        return None
