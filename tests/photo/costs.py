"""Runs a program, and tells its processor time and peak memory.

The kernel counts the memory of whoever starts a program as the program's own, until
it has begun: started from here, with numpy and OpenCV loaded, an empty file would
cost 300 MB. So a small Python without any package starts it.
"""

import json
import subprocess
import sys
import tempfile
import time
import types

LAUNCHER = """
import json, os, subprocess, sys
child = subprocess.Popen(sys.argv[2:])
_, status, used = os.wait4(child.pid, 0)
with open(sys.argv[1], "w") as told:
    json.dump([os.waitstatus_to_exitcode(status), used.ru_utime + used.ru_stime, used.ru_maxrss * 1024], told)
"""


def run(words):
    """-> returncode, stdout, stderr, wall and cpu in seconds, peak in bytes."""
    words = [str(word) for word in words]
    with tempfile.NamedTemporaryFile("r") as told:
        started = time.perf_counter()
        launcher = [sys.executable, "-I", "-S", "-c", LAUNCHER, told.name]
        done = subprocess.run([*launcher, *words], capture_output=True, text=True)
        wall = time.perf_counter() - started
        assert done.returncode == 0, done.stderr
        returncode, cpu, peak = json.loads(told.read())
    return types.SimpleNamespace(
        returncode=returncode, stdout=done.stdout, stderr=done.stderr, wall=wall, cpu=cpu, peak=peak
    )
