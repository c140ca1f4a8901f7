import socket

import pytest

from curelog.serving import network
from curelog.serving.failure import CannotStart


def test_a_free_port_is_left_free() -> None:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    network.claim("127.0.0.1", port)
    network.claim("127.0.0.1", port)


def test_a_listener_that_shares_its_port_is_still_one() -> None:
    # The production server shares its port among workers; a second start must not slip in beside it.
    with socket.socket() as other:
        other.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEPORT, 1)
        other.bind(("127.0.0.1", 0))
        other.listen()
        with pytest.raises(CannotStart, match="is in use"):
            network.claim("127.0.0.1", other.getsockname()[1])


def test_an_address_that_is_not_ours() -> None:
    with pytest.raises(CannotStart, match="not an address of this machine"):
        network.claim("203.0.113.7", 8000)  # RFC 5737: documentation only


def test_hosts_of_the_local_network_are_answered(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(network, "own_addresses", lambda: ["192.168.7.9"])
    monkeypatch.setattr(socket, "gethostname", lambda: "shed")
    once = network.answered_hosts("0.0.0.0", ["soap.example"])
    assert once == ["soap.example", "localhost", "127.0.0.1", "[::1]", "shed", "shed.local", "192.168.7.9"]
    assert network.answered_hosts("0.0.0.0", once) == once
    assert network.answered_hosts("10.1.2.3", [])[-1] == "10.1.2.3"


def test_the_phone_is_told_where_it_can_get_in(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(network, "own_addresses", lambda: ["192.168.7.9", "10.0.0.2"])
    assert network.phone_address("0.0.0.0", 8000) == "http://192.168.7.9:8000"
    assert network.phone_address("10.0.0.2", 8000) == "http://10.0.0.2:8000"
    assert network.phone_address("127.0.0.1", 8000) is None
    monkeypatch.setattr(network, "own_addresses", list)
    assert network.phone_address("0.0.0.0", 8000) is None
