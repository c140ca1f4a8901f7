"""What every channel promises, run for each of them."""

import time

import pytest

from curelog.channels.message import Message, Result

MESSAGE = Message(
    "Cut: 26-014", ("26-014: cut from Tue 18:15, by Tue 23:00",), "/loaves/1/cut/", "tagtagtag", "word"
)


def test_a_message_arrives_with_its_act_its_words_and_its_way_in(stand):
    assert stand.channel.send(stand.receiver, MESSAGE).result is Result.SENT
    (text,) = stand.received()
    for part in ("Cut: 26-014", "26-014: cut from Tue 18:15, by Tue 23:00", "/loaves/1/cut/"):
        assert part in text


def test_a_receiver_that_is_no_more_is_told_apart(stand):
    stand.answer("gone")
    outcome = stand.channel.send(stand.receiver, MESSAGE)
    assert outcome.result is Result.GONE
    assert outcome.why


def test_a_passing_trouble_is_for_later(stand):
    stand.answer("busy")
    assert stand.channel.send(stand.receiver, MESSAGE).result is Result.LATER


def test_a_refusal_of_the_message_leaves_the_receiver_open(stand):
    stand.answer("refused")
    assert stand.channel.send(stand.receiver, MESSAGE).result is Result.REFUSED


def test_a_server_that_is_away_is_for_later_and_soon_known(stand):
    stand.close()
    began = time.monotonic()
    outcome = stand.channel.send(stand.receiver, MESSAGE)
    assert outcome.result is Result.LATER
    assert "could not be reached" in outcome.why
    assert time.monotonic() - began < 30


def test_a_repeat_carries_the_same_mark(stand):
    for _ in range(2):
        stand.channel.send(stand.receiver, MESSAGE)
    assert all("tagtagtag" in text for text in stand.received())
    assert len(stand.received()) == 2


@pytest.mark.parametrize("letters", ["ä ö ü ß é", "26-014: 100 % ✓", "line\nline"])
def test_letters_of_any_kind_arrive(stand, letters):
    assert stand.channel.send(stand.receiver, Message("T", (letters,), "/", "tag")).result is Result.SENT
