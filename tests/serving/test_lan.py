import os
from pathlib import Path
from threading import Event

import pytest

from curelog.serving import lan, network
from curelog.serving.failure import CannotStart


class Door:
    """Stands for the plain door: notes what is done to it."""

    def __init__(self) -> None:
        self.done: list[str] = []
        self.is_open = True

    def open(self) -> None:
        self.done.append("open")

    def close(self) -> None:
        self.done.append("close")


class Rounds(Event):
    """Ends after so many looks, without waiting for any."""

    def __init__(self, number: int) -> None:
        super().__init__()
        self.left = number

    def wait(self, timeout: float | None = None) -> bool:
        self.left -= 1
        return self.left < 0


@pytest.fixture
def side(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> lan.Lan:
    monkeypatch.setenv("CURELOG_HOSTS", "localhost")
    monkeypatch.setattr(network, "own_addresses", lambda: ["192.168.7.9"])
    return lan.Lan(tmp_path, "0.0.0.0", 8001)


def watched(side: lan.Lan, plain: Door, rounds: int) -> list[str]:
    told: list[str] = []
    lan.look_after(side, plain, Rounds(rounds), lambda: told.append("reload"), lambda: told.append("end"))
    return told


def test_a_new_address_is_noticed_while_it_runs(side: lan.Lan, monkeypatch: pytest.MonkeyPatch) -> None:
    assert side.renew()
    plain = Door()
    assert (watched(side, plain, 3), plain.done) == ([], [])
    monkeypatch.setattr(network, "own_addresses", lambda: ["192.168.7.10"])
    assert (watched(side, plain, 3), plain.done) == (["reload"], ["close", "open"])
    # Workers that begin now answer to it, too.
    assert "192.168.7.10" in os.environ["CURELOG_HOSTS"].split(",")


def test_a_full_disk_is_told_and_tried_again(
    side: lan.Lan, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    answers = iter([OSError("no space left"), True])

    def renew(self: lan.Lan) -> bool:
        answer = next(answers)
        if isinstance(answer, OSError):
            raise answer
        return answer

    monkeypatch.setattr(lan.Lan, "renew", renew)
    assert watched(side, Door(), 2) == ["reload"]
    assert "could not be looked after" in caplog.text


def test_a_plain_door_that_fell_shut_ends_the_other(side: lan.Lan, caplog: pytest.LogCaptureFixture) -> None:
    side.renew()
    plain = Door()
    plain.is_open = False
    assert watched(side, plain, 1) == ["end"]
    assert "plain port closed" in caplog.text


def test_the_next_port_is_taken_and_a_proxys_settings_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    assert lan.port_beside(8000) == 8001
    with pytest.raises(CannotStart, match="below 65535"):
        lan.port_beside(65535)
    for name in ("CURELOG_HTTPS", "CURELOG_BEHIND_PROXY"):
        with monkeypatch.context() as told:
            told.setenv(name, "1")
            with pytest.raises(CannotStart, match="leave them out with --lan"):
                lan.port_beside(8000)
