"""The live feed against a plain list of everything ever published."""

from collections.abc import Iterator
from threading import Thread

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rig.service.live import LiveFeed, Message


def rest_of(feed: LiveFeed, after_id: int | None) -> list[tuple[int, str, int]]:
    """What a follower of a closed feed gets."""
    feed.close()
    return [(m.id, m.topic, m.data["n"]) for m in feed.follow(after_id) if m is not None]


def fed(topics: list[str], ring: int = 1200) -> tuple[LiveFeed, list[tuple[int, str, int]]]:
    feed = LiveFeed(ring)
    ids = [feed.publish(topic, {"n": n}) for n, topic in enumerate(topics)]
    return feed, [(id_, topic, n) for n, (id_, topic) in enumerate(zip(ids, topics, strict=True))]


def newest_of_each(said: list[tuple[int, str, int]]) -> list[tuple[int, str, int]]:
    return sorted({topic: (id_, topic, n) for id_, topic, n in said}.values())


def test_ids_rise_by_one() -> None:
    _, said = fed(["rig", "now", "rig"])
    assert [id_ for id_, _, _ in said] == [1, 2, 3]


def test_latest_is_the_newest_of_each_topic_oldest_first() -> None:
    feed, _ = fed(["rig", "now", "trial", "now"])
    assert [(m.id, m.topic) for m in feed.latest()] == [(1, "rig"), (3, "trial"), (4, "now")]


@given(
    topics=st.lists(st.sampled_from(["rig", "trial", "now"]), max_size=30),
    ring=st.integers(1, 12),
    after_id=st.none() | st.integers(-3, 40),
)
def test_follow_continues_where_it_can_and_starts_over_where_it_cannot(
    topics: list[str], ring: int, after_id: int | None
) -> None:
    feed, said = fed(topics, ring)
    can_continue = after_id is not None and len(said) - ring <= after_id <= len(said)
    if can_continue and after_id >= 0:
        expected = [message for message in said if message[0] > after_id]
    else:
        expected = newest_of_each(said)
    assert rest_of(feed, after_id) == expected


@given(
    topics=st.lists(st.sampled_from(["rig", "trial", "now"]), min_size=1, max_size=40),
    cuts=st.lists(st.integers(1, 6), max_size=12),
)
def test_a_follower_cut_off_again_and_again_misses_nothing(
    topics: list[str], cuts: list[int]
) -> None:
    feed, said = fed(topics)
    feed.close()
    seen: list[int] = []
    for length in cuts:
        stream = feed.follow(seen[-1] if seen else 0)
        seen += [message.id for message, _ in zip(stream, range(length), strict=False) if message]
    seen += [message.id for message in feed.follow(seen[-1] if seen else 0) if message]
    assert seen == [id_ for id_, _, _ in said]


def test_what_was_published_does_not_change_afterwards() -> None:
    feed, state = LiveFeed(), {"n": 1}
    feed.publish("now", state)
    state["n"] = 2
    feed.latest()[0].data["n"] = 3
    assert feed.latest()[0].data == {"n": 1}


def test_what_json_cannot_say_is_refused_and_uses_no_id() -> None:
    feed = LiveFeed()
    with pytest.raises(ValueError, match="JSON"):
        feed.publish("now", {"load_g": float("nan")})
    assert feed.latest() == []
    assert feed.publish("now", {"load_g": None}) == 1


def test_a_follower_is_woken_when_there_is_no_news() -> None:
    feed, _ = fed(["rig"])
    stream = feed.follow(1, wake_s=0.001)
    assert [next(stream), next(stream)] == [None, None]
    feed.publish("now", {"n": 5})
    assert next(message.id for message in stream if message) == 2


def in_thread(stream: Iterator[Message | None], into: list[int]) -> Thread:
    thread = Thread(target=lambda: into.extend(m.id for m in stream if m), daemon=True)
    thread.start()
    return thread


def test_close_ends_a_follower_that_waits() -> None:
    feed, seen = LiveFeed(), []
    thread = in_thread(feed.follow(None, wake_s=3600), seen)
    feed.close()
    feed.close()
    thread.join(timeout=20)
    assert not thread.is_alive()


def test_many_threads_publish_and_every_follower_sees_all_in_order() -> None:
    feed = LiveFeed()
    seen: list[list[int]] = [[] for _ in range(4)]
    followers = [in_thread(feed.follow(0, wake_s=3600), into) for into in seen]
    publishers = [
        Thread(target=lambda: [feed.publish("now", {"n": n}) for n in range(200)]) for _ in range(5)
    ]
    for publisher in publishers:
        publisher.start()
    for publisher in publishers:
        publisher.join(timeout=20)
    feed.close()
    for follower in followers:
        follower.join(timeout=20)
    assert seen == [list(range(1, 1001))] * 4


def test_two_runs_have_different_names() -> None:
    assert LiveFeed().run != LiveFeed().run
