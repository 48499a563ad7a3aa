"""The bad line is bad in the way it says, and good otherwise."""

import http.client
import json
import threading
from concurrent.futures import ThreadPoolExecutor
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import pytest

from tests.chaos import proxy as faults
from tests.chaos.proxy import Proxy
from tests.chaos.server import free_port

BROKEN = (http.client.HTTPException, OSError)


class Clinic(BaseHTTPRequestHandler):
    """Answers each request with how many it saw."""

    def do_POST(self):
        asked = json.loads(self.rfile.read(int(self.headers["Content-Length"])))
        self.server.seen.append(asked["operations"])
        body = json.dumps({"seen": len(self.server.seen), "results": []}).encode()
        self.send_response(200)
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *_):
        pass


@pytest.fixture
def clinic():
    server = ThreadingHTTPServer(("127.0.0.1", 0), Clinic)
    server.seen, server.kills = [], []
    thread = threading.Thread(target=server.serve_forever, args=[0.01])
    thread.start()
    yield server
    server.shutdown()
    thread.join()
    server.server_close()


@pytest.fixture
def line(clinic):
    with Proxy(clinic.server_port, lambda: clinic.kills.append(len(clinic.seen))) as proxy:
        yield proxy


def send(line: Proxy, name: str) -> dict:
    connection = http.client.HTTPConnection("127.0.0.1", line.port, timeout=5)
    try:
        connection.request("POST", "/charting/sync/", json.dumps({"operations": [name]}))
        return json.loads(connection.getresponse().read())
    finally:
        connection.close()


def test_passes_on_and_writes_down(clinic, line):
    assert send(line, "a") == {"seen": 1, "results": []}
    assert [exchange.request["operations"] for exchange in line.exchanges] == [["a"]]
    assert line.exchanges[0].answer["seen"] == 1


@pytest.mark.parametrize("fault", [faults.LOSE_ANSWER, faults.CUT_ANSWER, faults.KILL_AND_LOSE])
def test_lost_answer_comes_after_the_request_was_passed_on(clinic, line, fault):
    line.faults.append(fault)
    with pytest.raises(BROKEN):
        send(line, "a")
    assert clinic.seen == [["a"]]
    assert send(line, "b")["seen"] == 2
    assert line.happened == {fault: 1}


def test_request_is_repeated_at_once(clinic, line):
    line.faults.append(faults.TWICE)
    assert send(line, "a")["seen"] == 2
    assert clinic.seen == [["a"], ["a"]]


def test_request_is_repeated_after_the_next_one(clinic, line):
    line.faults.append(faults.LATE_TWICE)
    send(line, "a")
    send(line, "b")
    assert clinic.seen == [["a"], ["b"], ["a"]]


def test_later_request_overtakes(clinic, line):
    line.faults.append(faults.OVERTAKEN)
    with pytest.raises(BROKEN):
        send(line, "a")
    send(line, "b")
    line.settle()
    assert clinic.seen == [["b"], ["a"]]


def test_server_is_killed_before_the_answer_is_given(clinic, line):
    line.faults.append(faults.KILL_ON_ANSWER)
    assert send(line, "a")["seen"] == 1
    assert clinic.kills == [1]


def test_nothing_gets_through_a_cut_line(clinic, line):
    line.cut()
    with pytest.raises(BROKEN):
        send(line, "a")
    line.heal()
    assert send(line, "b")["seen"] == 1


def test_silent_line_answers_nothing_until_it_is_torn(clinic, line):
    line.cut(silent=True)
    with ThreadPoolExecutor(1) as pool:
        sent = pool.submit(send, line, "a")
        line.until_silent(1)
        line.heal()
        with pytest.raises(BROKEN):
            sent.result()
    assert clinic.seen == []


def test_server_that_is_away_is_a_broken_connection(clinic, line):
    line.server_port = free_port()
    with pytest.raises(BROKEN):
        send(line, "a")


def test_forged_answer_is_written_down_as_it_was_given(clinic, line):
    line.forge = lambda asked, answer: answer.with_json({"seen": 99})
    assert send(line, "a") == {"seen": 99}
