"""The yard's web app under load: list, machine page and log post at 50 requests a second.

One server process of its own, 100 machines with five years of daily entries (182 500), then a
million. Each machine is visited in turn, the server fresh from its start. The peer is the same
server's sign-in page, which reads next to nothing, asked for in the same mix; what the records cost
is then seen apart from Django, the network and a busy computer. Processor time of the server, asked
by one after the other, hangs least on what else runs.
"""

from __future__ import annotations

import gzip
import os
import re
import statistics
import sys
import time
from collections import defaultdict
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from datetime import timedelta
from pathlib import Path
from urllib.parse import urlencode

from common.turns import say, spoken, where
from common.yard import Server, Yard, ask, ends_of, enter, forms_of, made_yard

MACHINES, DAYS, A_SECOND, SECONDS = 100, 5 * 365, 50, 20
MILLION = 1_000_000
ASKED, ASKED_OF_A_MILLION = 0.100, 0.150  # s
PEER = "sign-in page"
Jobs = dict[str, Callable[[str], object]]


def main() -> None:
    os.environ["OPENBLAS_NUM_THREADS"] = "1"
    print(f"Pages of the yard's web app; {where()}")
    yard = made_yard(MACHINES, DAYS)
    with Server() as server:
        jobs = _jobs(server.address, yard)
        _load(jobs, yard)
        _processor_time(server, jobs, yard)
        _weight(server.address, yard)
    count = enter((MILLION - MACHINES * DAYS) // MACHINES + 1)
    with Server() as server:
        _a_million(server.address, yard, count)


def _jobs(server: str, yard: Yard) -> Jobs:
    forms = forms_of(server, yard)
    return {
        "list": lambda uid: ask(f"{server}/", yard.cookie),
        "machine page": lambda uid: ask(f"{server}/machines/{uid}/", yard.cookie),
        "log post": forms.post,
        PEER: lambda uid: ask(f"{server}/sign-in/", ""),
    }


def _load(jobs: Jobs, yard: Yard) -> None:
    """The mix, at a steady pace whatever the answers take (open loop)."""
    took: dict[str, list[float]] = defaultdict(list)
    names = tuple(jobs)

    def one(number: int, start: float) -> None:
        what, uid = names[number % len(names)], yard.uids[number // len(names) % len(yard.uids)]
        jobs[what](uid)
        took[what].append(time.perf_counter() - start)

    begin = time.perf_counter()
    answers: list[Future[None]] = []
    with ThreadPoolExecutor(24) as pool:
        for number in range(A_SECOND * SECONDS):
            time.sleep(max(0.0, begin + number / A_SECOND - time.perf_counter()))
            answers.append(pool.submit(one, number, time.perf_counter()))
    for answer in answers:
        answer.result()
    peer = _p95(took[PEER])
    for what in names[:-1]:
        say(
            f"{what}: 95 % of the answers within, over the same of a page that reads next to"
            " nothing",
            _p95(took[what]) / peer,
            f"{spoken(ASKED)} or less",
            f"{spoken(_p95(took[what]))}, median {spoken(statistics.median(took[what]))}, the other"
            f" page's 95 % {spoken(peer)}; {A_SECOND} requests a second for {SECONDS} s,"
            f" {MACHINES * DAYS} entries",
        )


def _processor_time(server: Server, jobs: Jobs, yard: Yard) -> None:
    """The server's own, one request after the other."""
    spent: dict[str, float] = {}
    for what, job in jobs.items():
        before = server.worked()
        for uid in yard.uids:
            job(uid)
        after = server.worked()
        if before is None or after is None:
            return  # this system does not say
        spent[what] = (after - before) / len(yard.uids)
    for what in tuple(jobs)[:-1]:
        say(f"{what}: processor time, over that of a page that reads next to nothing",
            spent[what] / spent[PEER], "no target",
            f"{spoken(spent[what])} a request; mean of {len(yard.uids)} machines")  # fmt: skip


def _p95(values: list[float]) -> float:
    return sorted(values)[int(0.95 * len(values))]


def _weight(server: str, yard: Yard) -> None:
    """What a first load of a machine's page brings, compressed, map and race included."""
    page = ask(f"{server}/machines/{yard.uids[0]}/", yard.cookie)
    text = (gzip.decompress(page) if page[:2] == b"\x1f\x8b" else page).decode()
    total = len(page)
    for path in set(re.findall(r'(?:src|href)="(/static/[^"]+)"', text)):
        total += len(ask(f"{server}{path}", yard.cookie))
    for part in ("turned", "because"):
        total += len(ask(f"{server}/machines/{yard.uids[0]}/{part}/", yard.cookie))
    say("A machine's page, its first load over 350 kB", total / 350e3, "under 1",
        f"{total / 1e3:.0f} kB compressed, with scripts, map, race and reasons")  # fmt: skip


def _a_million(server: str, yard: Yard, count: int) -> None:
    """Each page once for every machine of some, in turn with the peer."""
    first, last = ends_of(yard.uids[0])
    middle, oldest = first + (last - first) / 2, first + timedelta(days=20)
    log, drift = "/machines/{uid}/log/", "/machines/{uid}/drift/"
    pages = {
        "the log's newest page": log,
        "the log by kind": f"{log}?kind=daily-check",
        "the log half way down": f"{log}?{urlencode({'before': f'{middle.isoformat()}~1'})}",
        "the log's last page": f"{log}?{urlencode({'before': f'{oldest.isoformat()}~1'})}",
        "due": "/due/", "fleet": "/fleet/", "list": "/",
        # The last: opening it has the machine's wiring worked out behind it, for a check's worth.
        "drift": drift,
    }  # fmt: skip
    for what, path in pages.items():
        times, peers = [], []
        for uid in yard.uids[:15]:
            start = time.perf_counter()
            ask(f"{server}/sign-in/", "")
            between = time.perf_counter()
            ask(f"{server}{path.format(uid=uid)}", yard.cookie)
            times.append(time.perf_counter() - between)
            peers.append(between - start)
        say(f"{count} entries, {what}, over a page that reads next to nothing",
            statistics.median(times) / statistics.median(peers),
            f"{spoken(ASKED_OF_A_MILLION)} or less",
            f"median {spoken(statistics.median(times))}, slowest of 15"
            f" {spoken(max(times))}")  # fmt: skip


if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parent))
    main()
