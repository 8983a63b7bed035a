"""The audit at scale: `python -m tests.bench.bench_audit [COUNT] [FOLDER]`, 100,000 records by default.

Cold index against bare read + parse of the same files with as many processes, warm opening, pages and filters, and
the most memory any process took. Records are substituted into the text of real ones, short of most findings and limits
that stay the same, which makes the index's own work weigh more, not less; their seals and links are whole.
"""

from __future__ import annotations

import itertools
import json
import os
import resource
import sys
import tempfile
import time
import tomllib
from concurrent.futures import ProcessPoolExecutor
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random

from preflight.audit.filling import PORTION
from preflight.audit.habits import Hand, Levels
from preflight.audit.history_maker import gauges_of
from preflight.audit.queries import EVERYTHING, Filter, count, distinct, page
from preflight.audit.record_rows import READ_STATIONS
from preflight.audit.shop_audit import ShopAudit
from preflight.checklist.body import write_body
from preflight.checklist.chain import Chain
from preflight.checklist.document import Entry, StartUp, document
from preflight.checklist.heading import Signature
from preflight.checklist.seal import NO_PREVIOUS, read_seal, seal
from preflight.checks.route import assess
from preflight.cli.init import make_shop
from preflight.sheet import SetupSheet
from preflight.shop.bundled import bundled
from preflight.shop.folder import shop_at

START = datetime(2024, 1, 2, 6, 0, tzinfo=UTC)
PEOPLE = ("D. Marrow", "L. Brandreth", "J. Ferrow", "P. Hask", "T. Wold", "K. Ostery")
VERDICTS = ("ok",) * 17 + ("caution",) * 2 + ("stop",)
PAGES = 200


def template(shop: Path, sheet_name: str) -> tuple[str, str, list[str]]:
    """Machine id, the text of a record with marks to fill in, and the keys of its readings."""
    sheet = tomllib.loads((bundled() / "sheets" / f"{sheet_name}.toml").read_text(encoding="utf-8"))
    model = SetupSheet.model_validate(sheet)
    view = shop_at(shop).view(model)
    hand = Hand("@name@", Random(1))
    gauges = gauges_of(sheet, view)
    answers = hand.answers(hand.readings(gauges, Levels(gauges, Random(2)).today), int(START.timestamp()), gauges)
    entries = [Entry(one.key, f"@text {one.key}@", START) for one in answers]
    signature = Signature("@name@", "operator", "I read these figures myself.", START)
    made = document(StartUp("@record@", sheet, assess(model, view), view, signature, entries))
    judged = (one for one in made["findings"] if one["check"] in READ_STATIONS)
    made["findings"] = [one for one in judged if ("low" in one or "high" in one) and one["check"] != "extraction"]
    made["limits"] = {"machine": {"heads": made["limits"]["machine"]["heads"][:1]}}
    for place, entry in enumerate(made["entries"]):
        entry["at"] = f"@at {place}@"
    made["record"] |= {"utc": "@utc@", "local": "@utc@", "verdict": "@verdict@", "kind": "@kind@"}
    text = write_body(made).decode()
    for place in range(len(entries)):
        text = text.replace(f'"@at {place}@"', f"@at {place}@")
    return view.machine.id, text, [one.key for one in answers]


def generate(shop: Path, total: int) -> None:
    """Write the chains of the three machines."""
    sheets = ("ok-one-head", "ok-two-heads", "ok-three-heads")
    for place, name in enumerate(sheets):
        machine, text, keys = template(shop, name)
        rng, previous, chain = Random(place), NO_PREVIOUS, Chain(shop, machine)
        for number in range(1, total // 3 + 1 + (place < total % 3)):
            at = START + timedelta(minutes=13 * number)
            verdict = rng.choice(VERDICTS)
            body = text
            marks = {"record": f"{machine}-{number:08d}", "name": rng.choice(PEOPLE), "utc": at.isoformat()}
            marks |= {"verdict": verdict, "kind": "held" if verdict == "stop" else "startup"}
            marks |= {f"text {key}": f"{rng.uniform(3, 9):.2f}" for key in keys}
            marks |= {f"at {n}": (at + timedelta(seconds=9 * n)).isoformat() for n in range(len(keys))}
            pieces = body.split("@")
            pieces[1::2] = [marks[mark] for mark in pieces[1::2]]
            data = seal("".join(pieces).encode(), machine=machine, sequence=number, previous=previous, signer=None)
            path = chain.path(number)
            if number == 1 or number % 1000 == 0:
                path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
            previous = read_seal(data).sha256


def bare(paths: list[str]) -> int:
    """Read and parse some files."""
    return sum(bool(tomllib.loads(Path(path).read_bytes().decode())) for path in paths)


def bare_seconds(paths: list[str], processes: int) -> float:
    """Read and parse all of them with so many processes, in portions as the index does."""
    portions = [paths[at : at + PORTION] for at in range(0, len(paths), PORTION)]
    start = time.perf_counter()
    with ProcessPoolExecutor(processes) as pool:
        done = sum(pool.map(bare, portions))
    if done != len(paths):
        raise AssertionError(done)
    return time.perf_counter() - start


def timed(question: object, repeat: int = 1) -> tuple[float, float]:
    """Median and worst milliseconds of a call."""
    taken = []
    for _ in range(repeat):
        start = time.perf_counter()
        question()  # type: ignore[operator]
        taken.append((time.perf_counter() - start) * 1e3)
    return sorted(taken)[len(taken) // 2], max(taken)


def lists(audit: ShopAudit) -> None:
    """Pages and filters."""
    connection = audit.index.connection
    taken, after, rows = [], None, 0
    for _ in range(PAGES):
        start = time.perf_counter()
        found = page(connection, after=after)
        taken.append((time.perf_counter() - start) * 1e3)
        after, rows = found[-1].key if found else None, rows + len(found)
    print(f"{PAGES} pages one after the other: median {sorted(taken)[PAGES // 2]:.1f} ms, worst {max(taken):.1f} ms")
    machine, person = distinct(connection, "machine")[0], distinct(connection, "person")[0]
    middle = int((START + timedelta(days=60)).timestamp())
    worst = 0.0
    for parts in itertools.product((machine, ""), (person, "", "Nobody"), ("stop", ""), ("held", ""), (middle, None)):
        only = Filter(parts[0], parts[1], parts[2], parts[3], parts[4])
        for question in (lambda only=only: page(connection, only), lambda only=only: count(connection, only)):
            worst = max(worst, timed(question, 3)[0])
    print(f"48 filters, page and count each: worst median {worst:.1f} ms")
    print(f"count of everything {timed(lambda: count(connection, EVERYTHING), 5)[0]:.1f} ms")


def main() -> None:
    """Print the figures; never fails on them."""
    total = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    processes = os.cpu_count() or 1
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(sys.argv[2]) if len(sys.argv) > 2 else Path(temporary)
        shop, cache = folder / "shop", Path(temporary, "cache")
        if not shop.exists():
            make_shop(shop, empty=False)
            generate(shop, total)
        paths = sorted(str(path) for path in (shop / "checklists").glob("*/*/*.toml"))
        size = sum(Path(path).stat().st_size for path in paths[:300]) / len(paths[:300])
        lower = bare_seconds(paths, processes)
        audit = ShopAudit(shop, cache)
        start = time.perf_counter()
        first: list[float] = []
        audit.fill(lambda done, _: first.append(time.perf_counter() - start) if done and not first else None)
        ours = time.perf_counter() - start
        print(f"{len(paths)} records of about {size:.0f} bytes, {processes} processes")
        print(f"bare read + parse {lower:.1f} s, cold index {ours:.1f} s, ratio {ours / lower:.2f}, target at most 2")
        print(f"first rows after {first[0]:.2f} s, index {audit.index.path.stat().st_size / 1e6:.0f} MB")
        lists(audit)
        audit.close()

        def warm() -> None:
            opened = ShopAudit(shop, cache)
            opened.fill()
            page(opened.index.connection)
            opened.close()

        print("warm: open, look for new records, first page: {:.1f} ms, worst {:.1f} ms".format(*timed(warm, 9)))
        most = {
            who: resource.getrusage(of).ru_maxrss / 1024
            for who, of in (("this process", resource.RUSAGE_SELF), ("a worker", resource.RUSAGE_CHILDREN))
        }
        print("most memory: " + json.dumps({who: f"{megabytes:.0f} MB" for who, megabytes in most.items()}))


if __name__ == "__main__":
    main()
