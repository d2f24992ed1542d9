"""Every story of tests/replays through the generated Python bindings: equal screens, states
and digests, also where the device is ended and opened again after every event.

The library is built as `target/release` has it (`CHALKFACE_LIBRARY` names another), the
bindings are generated from it into a folder that is thrown away. What each step must lead to
is told by Rust itself (`REPLAYS_INTO`, see tests/replays/README.md); a run before this one may have
left it in the folder `REPLAYS_TOLD`.
"""

import importlib.util
import json
import os
import pathlib
import shutil
import subprocess
import sys
import time

import pytest

ROOT = pathlib.Path(__file__).resolve().parents[2]
STORIES = sorted(path.stem for path in (ROOT / "tests/replays").glob("*.json"))


def cargo(*words, **more):
    subprocess.run(["cargo", *words], cwd=ROOT, check=True, env={**os.environ, **more}, stdout=subprocess.DEVNULL)


@pytest.fixture(scope="module")
def chalkface(tmp_path_factory):
    """The generated module."""
    into = tmp_path_factory.mktemp("bindings")
    library = os.environ.get("CHALKFACE_LIBRARY")
    if library is None:
        cargo("build", "--quiet", "--release", "-p", "chalkface-bindings")
        library = ROOT / "target/release" / ("libchalkface.dylib" if sys.platform == "darwin" else "libchalkface.so")
    library = pathlib.Path(library)
    shutil.copy(library, into / library.name)
    bindgen = os.environ.get("CHALKFACE_BINDGEN")
    if bindgen is None:
        cargo("build", "--quiet", "-p", "chalkface-bindgen")
        bindgen = ROOT / "target/debug/chalkface-bindgen"
    subprocess.run([bindgen, "generate", "--language", "python", "--no-format", "--config", ROOT / "bindings/uniffi.toml",
                    "--out-dir", into, library], cwd=ROOT, check=True, stdout=subprocess.DEVNULL)
    spec = importlib.util.spec_from_file_location("chalkface", into / "chalkface.py")
    module = importlib.util.module_from_spec(spec)
    sys.modules["chalkface"] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    """What Rust did and showed, step by step."""
    into = pathlib.Path(os.environ.get("REPLAYS_TOLD") or tmp_path_factory.mktemp("told"))
    if "REPLAYS_TOLD" not in os.environ:
        cargo("test", "--quiet", "--release", "-p", "chalkface-tests", "--lib", "--", "replays::every_story",
              REPLAYS_INTO=str(into))
    return {story: json.loads((into / f"{story}.json").read_text()) for story in STORIES}


class Played:
    """One device of a story."""

    def __init__(self, module, no, folder, clock):
        self.module, self.no, self.path = module, no, str(folder / f"{no}.book")
        self.handed_over = b""
        self.open(None, clock)

    def open(self, state, clock):
        self.core = self.module.Device.open(self.path, state, clock)

    def clock(self, of):
        """The clock of a step with this device's own entropy."""
        return self.module.Clock(utc_ms=of.utc_ms, offset_min=of.offset_min, entropy=bytes([self.no] * 16))

    def keys(self, clock):
        wanted = self.core.keys_wanted()
        if wanted == self.module.KeysWanted.NONE:
            return
        keys = self.core.make_keys(bytes([self.no + 1] * 32))
        if wanted == self.module.KeysWanted.NEW:
            self.core.begin_keys(keys, bytes([self.no + 1] * 16), self.clock(clock))
        else:
            self.core.give_keys(keys)

    def settle(self):
        while (ticket := self.core.work()) is not None:
            ticket.run()
            self.core.finish(ticket)

    def kill(self, clock):
        state = self.core.state()
        self.core.end()
        self.open(state, clock)
        self.keys(clock)
        self.settle()


def event_of(module, of):
    """An event as it crosses; its words are the core's."""
    fields = {key: value for key, value in of.items() if key not in ("event", "seen", "outcome")}
    if of["event"] == "answer":
        how = {key: value for key, value in of["outcome"].items() if key != "outcome"}
        fields["how"] = getattr(module.Answered, of["outcome"]["outcome"].upper())(**how)
    return getattr(module.Event, of["event"].upper())(**fields)


def do(module, device, devices, does, clock):
    if "picked" in does:
        device.core.picked(does["picked"], "news.chalk", devices[does["from"]].handed_over, clock)
    elif "given" in does:
        file = ROOT / "tests/replays" / does["file"]
        device.core.picked(does["given"], file.name, file.read_bytes(), clock)
    elif "hand_over" in does:
        device.handed_over = device.core.content(does["hand_over"])
        device.core.act(module.Event.ANSWER(does["hand_over"], module.Answered.DONE()), None, clock)
    elif does["event"].get("outcome", {}).get("outcome") == "file":
        file = does["event"]["outcome"]
        device.core.picked(does["event"]["effect"], file["name"], bytes.fromhex(file["bytes"]), clock)
    else:
        device.core.act(event_of(module, does["event"]), does["event"].get("seen"), clock)


def agree(what, core, screen):
    """Whether a screen that crossed says what the core's own says."""
    for name in ("place", "turn", "title", "subtitle", "back", "undo", "says"):
        assert getattr(screen, name) == core[name], f"{what}: {name}"
    assert [tab.name for tab in screen.tabs] == [tab["name"] for tab in core["tabs"]], what
    assert [notice.text for notice in screen.notices] == [notice["text"] for notice in core["notices"]], what
    assert [effect.id for effect in screen.effects] == [effect["id"] for effect in core["effects"]], what
    # A text in markup crosses as the plain parts that it stands for.
    parts = [part for part in core["parts"] if part.get("block") != "markup"]
    known = {part["key"] for part in parts}
    crossed = [part for part in screen.parts if part.key in known]
    assert [part.key for part in crossed] == [part["key"] for part in parts], what
    for of, part in zip(parts, crossed):
        kind = part.kind.name.lower()
        assert kind == of.get("block", of.get("control")), f"{what}: {of['key']}"
        if "control" in of or kind == "table":
            assert part.name == of.get("name", of.get("alt")), f"{what}: {of['key']}"
        if "says" in of and kind != "rows":
            assert part.says == of["says"], f"{what}: {of['key']}"
        if kind in ("heading", "text", "caution", "field"):
            assert part.text == of["text"], f"{what}: {of['key']}"
        if kind in ("items", "steps"):
            assert part.columns == of["items"], f"{what}: {of['key']}"
        if kind == "table":
            assert [row.cells for row in part.rows] == [row["cells"] for row in of["rows"]], f"{what}: {of['key']}"
        if kind == "rows":
            assert [(row.key, row.name, row.detail, row.flag) for row in part.rows] == [
                (row["key"], row["name"], row["detail"], row["flag"]) for row in of["rows"]
            ], f"{what}: {of['key']}"
        if kind == "picture":
            assert [(point.key, point.x_px, point.y_px, point.no) for point in part.points] == [
                (point["key"], point["x_px"], point["y_px"], point["no"]) for point in of["points"]
            ], f"{what}: {of['key']}"


@pytest.mark.parametrize("killed", [False, True], ids=["as_it_is", "ended_after_every_event"])
@pytest.mark.parametrize("story", STORIES)
def test_a_story_shows_keeps_and_holds_what_it_does_in_rust(chalkface, told, story, killed, tmp_path):
    meet_before = json.loads((ROOT / f"tests/replays/{story}.json").read_text()).get("meet_before", -1)
    devices, at = {}, -1
    for step in told[story]:
        clock = chalkface.Clock(
            utc_ms=step["utc_ms"], offset_min=step["offset_min"], entropy=bytes(step["entropy"]))
        # Answers to a buzz are steps of their own here, and none in the story.
        own = clock.entropy[-1] == 0
        at += own
        if own and at == meet_before:
            for device in devices.values():
                device.keys(clock)
            cards = [device.core.card(device.clock(clock)).text for device in devices.values()]
            for device, card in zip(devices.values(), reversed(cards)):
                device.core.meet(card)
        if step["device"] not in devices:
            devices[step["device"]] = Played(chalkface, len(devices), tmp_path, clock)
        device = devices[step["device"]]
        do(chalkface, device, devices, step["does"], clock)
        device.keys(clock)
        device.settle()
        what = f"{story}, step {at}"
        agree(what, step["screen"], device.core.screen())
        assert device.core.state().hex() == step["state"], f"{what}: state"
        assert device.core.digests() == step["digests"], f"{what}: digests"
        if killed:
            device.kill(clock)


@pytest.mark.skipif(os.environ.get("CHALKFACE_PANICS") != "yes", reason="it takes a library built to panic when asked to")
def test_a_panic_arrives_as_an_error_with_a_number_and_changes_nothing(chalkface, tmp_path):
    clock = chalkface.Clock(utc_ms=1_777_881_600_000, offset_min=60, entropy=bytes(16))
    device = chalkface.Device.open(str(tmp_path / "a.book"), None, clock)
    device.act(chalkface.Event.WRITE("name", "Mina Aalto", 1), None, clock)
    shown, state = device.screen(), device.state()
    numbers = []
    for _ in range(2):
        with pytest.raises(chalkface.Fault.Unexpected) as fell:
            device.rows("panic on purpose", None, 1)
        numbers.append(fell.value.id)
    assert numbers[1] > numbers[0]
    assert device.screen() == shown and device.state() == state
    device.act(chalkface.Event.WRITE("name", "Mina Aaltonen", 2), None, clock)
    assert device.state() != state


def test_what_a_call_costs_is_told(chalkface, tmp_path, capsys):
    """Not judged: another machine has another figure. The least of many, in microseconds."""

    def clock(ms):
        return chalkface.Clock(utc_ms=1_777_881_600_000 + ms, offset_min=60, entropy=bytes(16))

    begun = time.perf_counter()
    device = chalkface.Device.open(str(tmp_path / "a.book"), None, clock(0))
    device.screen()
    first = time.perf_counter() - begun

    def least(call, times=200):
        best = float("inf")
        for _ in range(times):
            begun = time.perf_counter()
            call()
            best = min(best, time.perf_counter() - begun)
        return 1e6 * best

    figures = {"digests (nothing to say)": least(device.digests), "screen": least(device.screen)}
    no = iter(range(1, 10_000))
    figures["act (a text of ten letters)"] = least(
        lambda: device.act(chalkface.Event.WRITE("name", "Mina Aalto", next(no)), None, clock(1)))
    with capsys.disabled():
        said = ", ".join(f"{name} {cost:.0f} µs" for name, cost in figures.items())
        print(f"\ncalls from Python: first screen {1e3 * first:.1f} ms; {said}")
    assert all(cost > 0 for cost in figures.values())
