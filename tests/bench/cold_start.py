#!/usr/bin/env python3
"""How long a command takes from a cold start: cold_start.py COUNT COMMAND...

Prints the processor time a run (user and system) and the least and median wall time. For instance:
    tests/bench/cold_start.py 30 build/release/bin/islebook ask MAP.map.json --flow 0.2 --pressure-ratio 2 --json
"""
import resource
import subprocess
import sys
import time


def main(count, command):
    walls = []
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    for _ in range(count):
        started = time.perf_counter()
        subprocess.run(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=False)
        walls.append(1000 * (time.perf_counter() - started))
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    spent = 1000 * (after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime) / count
    walls.sort()
    print(f"processor {spent:.1f} ms a run; wall least {walls[0]:.1f} ms, median {walls[count // 2]:.1f} ms")


if __name__ == "__main__":
    if len(sys.argv) < 3:
        sys.exit(__doc__)
    main(int(sys.argv[1]), sys.argv[2:])
