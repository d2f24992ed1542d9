"""The stories once more, through the bindings: equal screens, states and digests, also where
the device is killed and restored after every event.

    python replay_bindings.py FOLDER_OF_BINDINGS FOLDER_OF_STORIES

The stories are those that `REPLAYS_INTO=... cargo test replays` writes: every step with its clock, its event
and what comes after. It also prints what a crossing costs.
"""

import json
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, sys.argv[1])
import chalkface as cf  # noqa: E402


def event(told):
    kind = told["event"]
    of = cf.Event
    plain = {"wake": of.WAKE, "back": of.BACK, "undo": of.UNDO}
    if kind in plain:
        return plain[kind]()
    if kind == "answer":
        outcome = told["outcome"]
        how = {"done": cf.Answered.DONE, "given_up": cf.Answered.GIVEN_UP, "lost": cf.Answered.LOST}.get(outcome["outcome"])
        how = how() if how else cf.Answered.FAILED(why=outcome["why"])
        return of.ANSWER(effect=told["effect"], how=how)
    fields = {key: value for key, value in told.items() if key not in ("event", "seen")}
    return getattr(of, kind.upper())(**fields)


def settle(one):
    while (ticket := one.work()) is not None:
        ticket.run()
        one.finish(ticket)


def same(name, n, screen, wanted):
    def equal(what, ours, theirs):
        assert ours == theirs, f"{name}, step {n}: {what} is {ours!r} and should be {theirs!r}"

    for field in ("place", "turn", "title", "subtitle", "back", "undo", "says"):
        equal(field, getattr(screen, field), wanted[field])
    equal("notices", [notice.text for notice in screen.notices], [notice["text"] for notice in wanted["notices"]])
    equal("keys", [part.key for part in screen.parts], [part["key"] for part in wanted["parts"]])
    equal("columns", [part.beside for part in screen.parts], [part["column"] == "beside" for part in wanted["parts"]])
    for part, theirs in zip(screen.parts, wanted["parts"]):
        if theirs.get("control"):
            equal(f"the name of {part.key}", part.name, theirs["name"])
        elif "text" in theirs:
            equal(f"the text of {part.key}", part.text, theirs["text"])
        if "items" in theirs:
            equal(f"the lines of {part.key}", part.columns, theirs["items"])
        if "rows" in theirs and theirs.get("control") != "cells":
            equal(f"the rows of {part.key}", [row.name for row in part.rows], [row["name"] for row in theirs["rows"]])
        if "scene" in theirs:
            equal(f"the drawing of {part.key}", (part.scene.alt, part.scene.width_mm, part.scene.height_mm),
                  (theirs["scene"]["alt"], theirs["scene"]["width_mm"], theirs["scene"]["height_mm"]))


def run(name, steps, killed, cost):
    with tempfile.TemporaryDirectory() as folder:
        devices, handed = {}, {}
        for n, step in enumerate(steps):
            clock = cf.Clock(utc_ms=step["utc_ms"], offset_min=step["offset_min"], entropy=bytes(step["entropy"]))
            path = str(Path(folder) / f"{step['device']}.book")
            if step["device"] not in devices:
                devices[step["device"]] = cf.Companion.open(path, None, clock)
                settle(devices[step["device"]])
            one, does = devices[step["device"]], step["does"]
            begun = time.perf_counter()
            if "picked" in does:
                one.picked(does["picked"], "news.chalk", handed[does["from"]], clock)
            elif "hand_over" in does:
                handed[step["device"]] = one.content(does["hand_over"])
                one.act(cf.Event.ANSWER(effect=does["hand_over"], how=cf.Answered.DONE()), None, clock)
            else:
                one.act(event(does["event"]), does["event"].get("seen"), clock)
            cost["act"].append(time.perf_counter() - begun)
            settle(one)
            if killed:
                state = one.state()
                one.close()
                one = devices[step["device"]] = cf.Companion.open(path, state, clock)
                settle(one)
            begun = time.perf_counter()
            screen = one.screen()
            cost["screen"].append(time.perf_counter() - begun)
            same(name, n, screen, step["screen"])
            assert one.state().hex() == step["state"], f"{name}, step {n}: the states differ"
            assert one.digests() == step["digests"], f"{name}, step {n}: the books differ"


def main():
    stories = sorted(Path(sys.argv[2]).glob("*.json"))
    assert len(stories) >= 5, "the stories were not found"
    cost = {"act": [], "screen": []}
    for story in stories:
        steps = json.loads(story.read_text())
        for killed in (False, True):
            run(story.stem, steps, killed, cost)
        print(f"{story.stem}: {len(steps)} steps, plain and killed: equal")
    for what, times in cost.items():
        times.sort()
        print(f"{what} from Python: median {times[len(times) // 2] * 1e3:.2f} ms, 95 % within {times[len(times) * 95 // 100] * 1e3:.2f} ms")


main()
