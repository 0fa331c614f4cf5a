"""The server is killed in the middle of writes: what it acknowledged is there, once."""

from __future__ import annotations

import http.client
import os
import signal
import sqlite3
import threading
from collections.abc import Callable
from pathlib import Path
from uuid import UUID, uuid4

import pytest

from tests.web.test_serving_process import Server, come_in, start, token_in

KILLS, WRITES = 20, 5000  # written until the kill comes, over the network

__all__ = ["start"]


@pytest.mark.slow
def test_what_the_server_acknowledged_before_a_kill_is_there_once(
    start: Callable[..., Server], tmp_path: Path
) -> None:
    server = start("--owner-link")
    cookies = come_in(server)
    token = token_in(server.ask("/machines/add/", cookies=cookies).page)
    added = server.ask(
        "/machines/add/demo/dunlin/", {"csrfmiddlewaretoken": token}, cookies=cookies
    )
    form = f"{added.headers['Location']}log/new/note/"
    acknowledged: list[str] = []
    unsure: list[str] = []
    for kill in range(KILLS):
        # Sooner each time, so that the kill meets every part of a write.
        timer = threading.Timer(
            0.02 + 0.01 * (kill % 10), os.kill, (server.process.pid, signal.SIGKILL)
        )
        timer.start()
        for number in range(WRITES):
            uid = str(uuid4())
            said = {"uid": uid, "v.text": f"{kill} {number}", "csrfmiddlewaretoken": token}
            try:
                answer = server.ask(form, said, cookies=cookies)
            except (OSError, http.client.HTTPException):
                unsure.append(uid)
                break
            assert answer.status == 302, answer.page
            acknowledged.append(uid)
        timer.join()
        server.process.wait(timeout=30)
        server = start("--owner-link")
        # The second sending of what nobody answered for: kept once, whatever became of the first.
        again = {"uid": unsure[-1], "v.text": "again", "csrfmiddlewaretoken": token}
        if server.ask(form, again, cookies=cookies).status == 302:
            acknowledged.append(unsure[-1])
    server.stop()
    assert len(unsure) == KILLS, "no kill came in the middle of the writes"
    assert len(acknowledged) > KILLS
    with sqlite3.connect(tmp_path / "records.sqlite3") as records:
        kept = [str(UUID(row[0])) for row in records.execute("SELECT uid FROM records_entry")]
        assert records.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    records.close()
    assert len(kept) == len(set(kept))
    assert set(acknowledged) <= set(kept)
