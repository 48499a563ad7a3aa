"""Which events of the browser's trace make a touch's time."""

from tests.bench.frame import Frame, frames


def event(name: str, ts: int, dur: int, tid: int = 1, **more) -> dict:
    """Microseconds; its thread began at 1000 and ran half of the time."""
    times = {"ts": ts, "dur": dur, "tts": (ts - 1000) // 2, "tdur": dur // 2}
    return {"name": name, "pid": 7, "tid": tid, "args": {}, **times, **more}


def touch(ts: int) -> dict:
    return event("EventDispatch", ts, 2000, args={"data": {"type": "pointerup"}})


def test_a_touch_ends_with_the_next_commit_of_its_own_thread():
    events = [
        event("Commit", 30_000, 1000),
        touch(10_000),
        event("Commit", 9_000, 400),
        event("Commit", 12_000, 100, tid=2),
        event("Commit", 12_500, 100, pid=8),
        event("Commit", 18_000, 2000),
        touch(25_000),
        event("EventDispatch", 5_000, 10, args={"data": {"type": "pointerdown"}}),
    ]
    assert frames(events) == [Frame(clock=10.0, processor=5.0), Frame(clock=6.0, processor=3.0)]
