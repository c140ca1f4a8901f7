"""Hosts as browsers type them."""

import pytest

from curelog.hosts import is_here_only


@pytest.mark.parametrize("host", ["localhost", "LOCALHOST:8000", "127.0.0.1:80", "[::1]", "[::1]:8001"])
def test_what_only_this_machine_can_open(host: str) -> None:
    assert is_here_only(host)


@pytest.mark.parametrize("host", ["192.168.7.9:8000", "shed.local", "[fd00::1]:8000", "localhost.example"])
def test_what_a_phone_can_open(host: str) -> None:
    assert not is_here_only(host)
