"""Time and memory from a 12 megapixel file's bytes to marks, beside the OpenCV pipeline on one thread.

CPU seconds of a whole process for the program (start, decoding, marks,
printing); for OpenCV the steps inside one process that is already running, so
its start and imports are not counted. Start at `main`.

    python tests/photo/speed.py [--program target/release/chalkface] [--count 6]
"""

import argparse
import multiprocessing
import pathlib
import resource
import statistics
import tempfile

import cv2

import render
from evaluate import run_program, truths


def opencv(folder, queue):
    """Every picture three times; the least of each step."""
    import baseline

    cv2.setNumThreads(1)
    rows = []
    for truth in truths(folder):
        data = (folder / truth["file"]).read_bytes()
        best = {}
        for handles in (truth["handles_px"], None):
            for _ in range(3):
                steps = {}
                baseline.read(data, truth["calliper_mm"], truth["hand"], handles, steps)
                if handles:
                    steps["handles"] = best.get("handles", 1e9)
                else:
                    steps = {"handles": steps.get("handles", 1e9)}
                best |= {name: min(ms, best.get(name, 1e9)) for name, ms in steps.items()}
        rows.append(best)
    queue.put((rows, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024))


def main():
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("--program", default="target/release/chalkface")
    ask.add_argument("--count", type=int, default=6)
    given = ask.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        for seed in range(300_000, 300_000 + given.count):
            if seed % 25 != 7:
                render.write(seed, folder, "several", True)
        ours = {True: [], False: []}
        peak = 0
        for truth in truths(folder):
            for handles in (True, False):
                runs = [run_program(given.program, truth, handles) for _ in range(3)]
                ours[handles].append(1000 * min(run["cpu"] for run in runs))
                peak = max([peak] + [run["peak"] for run in runs])
        queue = multiprocessing.Queue()
        child = multiprocessing.Process(target=opencv, args=(folder, queue))
        child.start()
        rows, their_peak = queue.get()
        child.join()
    print(f"{given.count} pictures of 12 megapixels, median of the least of three, ms of one core")
    middle = {step: statistics.median(row[step] for row in rows) for step in rows[0]}
    print("  OpenCV: " + ", ".join(f"{step} {ms:.0f}" for step, ms in middle.items()))
    for handles, what in ((True, "handles given"), (False, "handles proposed")):
        mine = statistics.median(ours[handles])
        theirs = sum(ms for step, ms in middle.items() if step != "handles" or not handles)
        print(f"  {what}: program {mine:.0f}, OpenCV {theirs:.0f}, ratio {mine / theirs:.2f}")
    print(
        f"  peak memory: program {peak / 1e6:.0f} MB, OpenCV with numpy {their_peak / 1e6:.0f} MB (goals: 300 ms, 120 MB)"
    )


if __name__ == "__main__":
    main()
